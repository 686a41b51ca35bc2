"""The first evening of a real club, by hand: from the one-time link to a roster with families."""

import subprocess
import sys

import pytest

from tests.e2e.people import PASSWORD
from tests.served import ROOT

pytestmark = [pytest.mark.e2e, pytest.mark.once]

HEAD = "number,first_name,last_name,born_on,grade,player_email,guardian_name,guardian_email\n"
BAD = (
    HEAD
    + "12,Enid,Okoro,2012-04-09,8,enid@herons.example,Martha Okoro,martha@herons.example\n"
    + "7,Sunniva,,2012-01-30,8,,Gudrun Lindahl,gudrun@herons.example\n"
    + "9,Hettie,Woolf,30.02.2012,8,,,\n"
    + "12,Tilda,Adair,2001-05-05,,tilda@herons.example,,\n"
    + "13,Marn,Quill,2012-05-05,,,,not-an-address\n"
)
GOOD = (
    HEAD
    + "12,Enid,Okoro,2012-04-09,8,enid@herons.example,Martha Okoro,martha@herons.example\n"
    + "7,Sunniva,Lindahl,2012-01-30,8,,Gudrun Lindahl,gudrun@herons.example\n"
    + "4,Lucan,Okoro,2014-08-02,6,,Martha Okoro,martha@herons.example\n"
    + "31,Tilda,Adair,2001-05-05,,tilda@herons.example,,\n"
)


def start_club(portal) -> str:
    """The link that the command prints."""
    done = subprocess.run(
        [sys.executable, "manage.py", "start_club"],
        cwd=ROOT,
        env=portal.environment,
        check=True,
        capture_output=True,
        text=True,
    )
    link = done.stdout.strip()
    assert link.startswith(f"{portal.address}/people/set-up/")
    return link


def set_up(director, link: str) -> None:
    director.go(link)
    director.fill(
        name="Millbrook Herons",
        zone="Europe/Lisbon",
        season_name="2026/27",
        starts_on="2026-09-01",
        ends_on="2027-06-30",
        squad_name="Under 15",
        first_name="Delphine",
        last_name="Marsh",
        email="delphine@herons.example",
    )
    # A password that is too short is told at its field and nothing is lost.
    director.fill(password="short")
    with director.expecting(422):
        director.press("Start the club")
    assert "too short" in director.text()
    assert director.page.input_value("[name=squad_name]") == "Under 15"
    director.fill(password=PASSWORD)
    director.press("Start the club")
    assert "What next for Millbrook Herons" in director.text()


def import_roster(director, content: str):
    director.page.set_input_files(
        "[name=file]", {"name": "roster.csv", "mimeType": "text/csv", "buffer": content.encode()}
    )
    director.press("Show what would happen")


def take_in_the_roster(director) -> None:
    director.follow("Import a roster")
    with director.expecting(422):
        import_roster(director, BAD)
    said = director.text()
    assert "4 rows cannot be used" in said
    for words in (
        "line 3", "The last name is missing.",
        "line 4", "“30.02.2012” is not a date",
        "line 5", "Number 12 is in line 2 already.",
        "line 6",
    ):  # fmt: skip
        assert words in said
    assert director.page.get_by_role("button", name="Write the roster").count() == 0
    director.follow("Choose the corrected file")
    import_roster(director, GOOD)
    assert "4 new, 0 changed, 0 as they are" in director.page.locator("caption").inner_text()
    director.page.get_by_label("Send the invitations now").check()
    director.press("Write the roster")
    said = director.text()
    assert "4 players are on the roster as in the file." in said
    for name in ("Enid Okoro", "Sunniva Lindahl", "Lucan Okoro", "Tilda Adair"):
        assert name in said


def invite_staff(director) -> None:
    director.follow("Invite a coach")
    director.fill(name="Ravel Osei", email="ravel@herons.example")
    director.press("Send the invitation")
    assert "ravel@herons.example" in director.text()
    director.go("/people/staff/")
    director.follow("Invite a director or welfare officer")
    director.page.get_by_label("Welfare officer").check()
    director.fill(name="Wilma Hart", email="wilma@herons.example")
    director.press("Send the invitation")
    assert "wilma@herons.example" in director.text()


def accept(somebody, link: str, *ticked: str, password: str = PASSWORD, **fields: str) -> None:
    """Open an invitation and accept it with a new account."""
    somebody.go(link)
    for name in ticked:
        somebody.page.check(f"[name={name}]")
    if somebody.page.locator("[name=password]").count():
        somebody.fill(password=password, **fields)
    somebody.press("Accept the invitation")
    assert somebody.page.url.endswith("/people/welcome/"), somebody.text()


def invitations(mailbox, address: str, count: int = 1) -> list[str]:
    mails = mailbox.wait(address, subject="Your invitation to Millbrook Herons", count=count)
    return [mail.link("/people/join/") for mail in mails]


def test_a_club_from_nothing(portal, mailbox, person):
    link = start_club(portal)
    director = person()
    set_up(director, link)
    take_in_the_roster(director)
    squad_page = director.page.url
    invite_staff(director)

    # The link that set the club up has done its work.
    late = person()
    with late.expecting(410):
        assert late.go(link).status == 410
    assert "This link does not work any more" in late.text()

    # A guardian of two children: one account, two links; to pictures she agrees for one child only.
    martha = person(on="phone")
    enids, lucans = sorted(
        mailbox.wait("martha@herons.example", subject="Your invitation", count=2),
        key=lambda mail: "Enid" not in mail.text,
    )
    accept(martha, enids.link("/people/join/"), "film", "email_pictures", relationship="mother")
    accept(martha, lucans.link("/people/join/"), "film")
    assert "Everything is there for Lucan" in martha.text()
    # The other guardian agrees to film, not to pictures in emails.
    gudrun = person(on="phone")
    accept(gudrun, *invitations(mailbox, "gudrun@herons.example"), "film")

    # A player chooses no password: she signs in with a code out of a mail.
    enid = person(on="phone")
    [enids_link] = invitations(mailbox, "enid@herons.example")
    accept(enid, enids_link, password="")
    assert "Everything is there" in enid.text()
    again = person(on="phone")
    with again.expecting(410):
        assert again.go(enids_link).status == 410
    again.go("/accounts/login/")
    again.follow("Send me a code instead")
    again.fill(email="enid@herons.example")
    again.page.locator("main form [type=submit]").first.click()
    [code_mail] = mailbox.wait("enid@herons.example", subject="code")
    again.page.wait_for_selector("[name=code]")
    again.fill(code=code_in(code_mail.text))
    with again.page.expect_navigation():
        again.page.locator("main form [type=submit]").first.click()
    again.go("/people/me/")
    assert "enid@herons.example" in again.text()

    tilda = person(on="phone")
    accept(tilda, *invitations(mailbox, "tilda@herons.example"), "film")
    coach = person()
    accept(coach, *invitations(mailbox, "ravel@herons.example"))
    wilma = person()
    accept(wilma, *invitations(mailbox, "wilma@herons.example"))

    # What the coach sees of it on the squad's page: nobody is missing, and who agreed to what.
    coach.go(squad_page)
    rows = {
        name: coach.page.locator("li.row", has_text=name).first.inner_text()
        for name in ("Enid Okoro", "Sunniva Lindahl", "Lucan Okoro", "Tilda Adair")
    }
    assert "Guardian: Martha Okoro." in rows["Enid Okoro"]
    assert "Consent to film. Pictures in emails." in rows["Enid Okoro"]
    assert "Guardian: Martha Okoro." in rows["Lucan Okoro"]
    assert "Guardian: Gudrun Lindahl." in rows["Sunniva Lindahl"]
    assert "Adult." in rows["Tilda Adair"]
    for name in ("Sunniva Lindahl", "Lucan Okoro", "Tilda Adair"):
        assert "Consent to film." in rows[name]
        assert "Pictures in emails" not in rows[name]
    assert "cannot be delivered" not in coach.text()
    assert "Invitations not answered" not in coach.text()

    # The same file again changes nothing and invites nobody twice.
    before = len(mailbox.mails)
    director.go(squad_page)
    director.follow("Import a roster")
    import_roster(director, GOOD)
    assert "0 new, 0 changed, 4 as they are" in director.page.locator("caption").inner_text()
    director.press("Write the roster")
    assert len(mailbox.mails) == before
    director.go("/people/squads/")
    assert "What next" not in director.text()


def code_in(text: str) -> str:
    """The sign-in code: the only line that is one word of capitals and digits."""
    lines = [line.strip() for line in text.splitlines()]
    return next(
        line for line in lines if line and line.replace("-", "").isalnum() and line.upper() == line
    )
