"""The main job on films that none of us made: said over film, landed on a phone, logged, told."""

import io
import re
import urllib.request
from datetime import timedelta
from pathlib import Path
from random import Random
from uuid import UUID, uuid4

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.e2e import clubs, gym, letters, steps
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.core, pytest.mark.once]

KEY = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
NAMES = ("Isaura", "Brunhild", "Lucan", "Okonjo", "Vasquell", "Marta", "Gudrun", "Osei")


def uneven() -> films.Kind:
    """A rotated HEVC .mov with sound whose frames come at uneven times, as some phones make."""
    return next(kind for kind in films.kinds() if kind.name == "phone")


FILMS = {
    "bikes": lambda folder: films.shared_film("bikes"),
    "bigbuckbunny": lambda folder: films.shared_film("bigbuckbunny"),
    "phone": lambda folder: films.write(folder, uneven()),
}


@pytest.mark.parametrize(
    "name",
    ["bikes", *(pytest.param(n, marks=pytest.mark.soak) for n in ("phone", "bigbuckbunny"))],
)
def test_the_main_job(name, portal, mailbox, person, tmp_path):
    club = clubs.seed(portal)
    people = {"coach": person().sign_in(club.emails["coach"])}
    for role in ("kid", "mate", "family"):
        people[role] = person(on="phone").sign_in(club.emails[role])

    say_it(people["coach"], FILMS[name](tmp_path))
    land_it(club, people, mailbox)
    work_on_it(club, people)
    logged = log_it(club, people)
    tell_it(club, people, portal, mailbox, logged, film=name)
    keep_it_apart(club, people, person)


# --- said ------------------------------------------------------------------


def say_it(coach, path: Path) -> None:
    film_page = steps.upload(coach, path)
    steps.comment(
        coach, second=1, players="96", skill="catch", verdict="d", happened="Ready before the ball."
    )
    steps.comment(
        coach, second=3, players="97 94", skill="clos", verdict="n", happened="Flew past.", cue=1
    )
    coach.follow("Check and send")
    pages = {}
    for name in ("Isaura", "Brunhild", "Lucan"):
        coach.page.locator("aside a", has_text=name).click()
        pages[name] = coach.page.locator(
            ".check-player:visible", has=coach.page.locator("h2", has_text=name)
        ).inner_text()
    assert "Isaura, Marta Okonjo (mother)" in pages["Isaura"]
    assert "Brunhild, Gudrun Vasquell (aunt)" in pages["Brunhild"]
    assert "Flew past." in pages["Isaura"]
    assert "Sprint then short steps" in pages["Isaura"]
    assert "“Did it” 1, “not yet” 0." in pages["Lucan"]
    assert "Catch-and-shoot" in pages["Lucan"]
    with coach.page.expect_navigation(url="**/sent/"):
        coach.page.get_by_role("button", name="Send to 3 players").click()
    assert "Still waiting" not in coach.text()
    coach.go(film_page)


# --- landed ----------------------------------------------------------------


def land_it(club, people, mailbox) -> None:
    kid, coach, emails = people["kid"], people["coach"], club.emails
    # One notice per person: the guardian of two children gets one for both.
    mailbox.wait(emails["kid"], subject="A new clip for you from")
    mailbox.wait(emails["mate"], subject="A new clip for you from")
    [notice] = mailbox.wait(emails["family"], subject="New film comments from")
    assert "- Isaura: 1 comment" in notice.text
    assert "- Lucan: 1 comment" in notice.text
    mailbox.wait(emails["mate_family"], subject="New film comments from")

    with kid.page.expect_response("**/seen/", timeout=steps.A_WHILE_MS) as seen:
        steps.watch(kid)
    assert seen.value.status == 204
    assert "Flew past." in kid.text()
    assert "Sprint then short steps" in kid.text()
    assert "your mother can read what you write here" in kid.text().replace("\n", " ")
    # Neither here nor there does a page of one player name the other.
    people["mate"].go("/today/")
    assert "Flew past." in people["mate"].text()
    kid.press("I see it")
    assert "You said “I see it”." in kid.text()
    kid.page.locator("details.ask summary").tap()
    kid.page.get_by_label("Your question").fill("Which hand should be high?")
    kid.press("Send the question")
    assert "Which hand should be high?" in kid.text()

    mailbox.wait(emails["coach"], subject="A question about a clip of Isaura")
    coach.go("/coach/")
    coach.follow("Which hand should be high?")
    coach.page.get_by_label("Your answer").fill("The one on the ball side.")
    coach.press("Write it")
    assert "question, answered" in coach.text()
    [reply] = mailbox.wait(emails["kid"], subject="wrote about your clip")
    kid.go(reply.link("/feedback/deliveries/"))
    assert "The one on the ball side." in kid.text()
    [reply] = mailbox.wait(emails["family"], subject="wrote about a clip of Isaura")
    people["family"].go(reply.link("/feedback/deliveries/"))
    assert "The one on the ball side." in people["family"].text()
    assert mailbox.to(emails["mate_family"], subject="wrote") == []
    coach.go("/coach/")
    assert "Which hand should be high?" not in coach.text()


# --- worked on -------------------------------------------------------------


def work_on_it(club, people) -> None:
    """The coach sets a goal; the player takes a drill from the clip into the week's work."""
    kid, coach, player = people["kid"], people["coach"], club.players["kid"]
    coach.go(f"/goals/players/{player}/add/")
    coach.page.get_by_label("Skill", exact=True).select_option(label="Catch-and-shoot")
    coach.page.locator("[name=measure][value=drill_share]").check()
    coach.page.get_by_label("Drill in which").select_option(label="Five-spot catch-and-shoot")
    due = club.now() + timedelta(days=60)
    coach.fill(
        words="Feet first, then the ball.",
        start_made="20",
        start_tried="50",
        target_percent="60",
        chances_needed="40",
        due_on=due.date().isoformat(),
    )
    coach.press("Keep as a draft")
    coach.page.get_by_role("button", name="Make it live").first.click()
    coach.page.get_by_role("button", name="Pause").first.wait_for()

    kid.go("/today/")
    kid.page.get_by_role("button", name="Add to my work").first.tap()
    expect(kid.page.get_by_role("main")).to_contain_text("is in this week's work")
    kid.follow("Work")
    kid.page.get_by_role("link", name="Log it").first.wait_for()
    kid.follow("My goals")
    assert "Feet first, then the ball." in kid.text()


# --- logged ----------------------------------------------------------------


def log_it(club, people) -> dict[str, list[dict]]:
    """The bodies that count for this week, by player; written by phone and by API."""
    kid = people["kid"]
    steps.log_five_spots(kid, club.players["kid"], made=7, missed=3, sets=5)
    tapped = {"drill": "five-spot-shooting", "made": 7, "tried": 10, "reps": None}
    by_hand = {"kind": "own", "minutes": 35, "sets": [tapped] * 5, "shots": []}
    chance = Random()
    drills = drills_by_kind(kid)
    logged = {"kid": [by_hand], "mate": [], "sibling": []}
    # A guardian may log for a child without an account.
    for name, who in (("kid", kid), ("mate", people["mate"]), ("sibling", people["family"])):
        begin, now = club.week_begins(), club.now()
        for at in gym.moments(chance, begin, now, chance.randint(2, 4)):
            body = gym.random_workout(chance, club.players[name], drills, at)
            put(who, body, then=201)
            logged[name].append(body)
        # The week before is another mail's, what was deleted nobody's; the newest revision counts.
        for at in gym.moments(chance, begin - timedelta(days=7), begin, 2):
            put(who, gym.random_workout(chance, club.players[name], drills, at), then=201)
        thrown = gym.random_workout(chance, club.players[name], drills, now)
        path = put(who, thrown, then=201)
        assert who.api("DELETE", path).status == 204
        first, second = (gym.random_workout(chance, club.players[name], drills, now) for _ in "12")
        path = put(who, first, then=201)
        again = renewed(second)
        put(who, again, path=path, then=200)
        logged[name].append(again)
    return logged


def drills_by_kind(somebody) -> dict[str, list[str]]:
    rows = somebody.api("GET", "/api/v1/drills/").json()["results"]
    return {
        kind: [row["slug"] for row in rows if row["counts"] == kind] for kind in ("makes", "reps")
    }


def renewed(body: dict) -> dict:
    return {**body, "revision": 2}


def put(who, body: dict, *, then: int, path: str = "") -> str:
    path = path or f"/api/v1/workouts/{uuid4()}/"
    answer = who.api("PUT", path, **body)
    assert answer.status == then, answer.text()
    return path


# --- told ------------------------------------------------------------------


def tell_it(club, people, portal, mailbox, logged, *, film: str) -> None:
    sums = {name: gym.sums(bodies) for name, bodies in logged.items()}
    for name in ("kid", "sibling"):
        answers_agree(people["family"], club, name, sums[name])
    clubs.run(portal, "manage.py", "digests", "--week", club.week(), "--send")
    week = f"eek {int(club.week()[-2:])}"
    mails = {
        role: mailbox.wait(club.emails[role], subject=week)[0]
        for role in ("kid", "mate", "family", "mate_family", "coach", "director")
    }
    assert mailbox.to(club.emails["outsider"], subject="Herons") == []

    told = letters.parts(mails["kid"].text)
    assert set(told) == {"Your"}
    assert "Goal on catch-and-shoot: " in told["Your"].words, told["Your"].words
    told["Your"].agrees_with(sums["kid"])
    told = letters.parts(mails["family"].text)
    assert set(told) == {"Isaura", "Lucan"}
    told["Isaura"].agrees_with(sums["kid"])
    told["Lucan"].agrees_with(sums["sibling"])
    told = letters.parts(mails["mate_family"].text)
    assert set(told) == {"Brunhild"}
    told["Brunhild"].agrees_with(sums["mate"])
    letters.parts(mails["mate"].text)["Your"].agrees_with(sums["mate"])
    drills_agree(people["kid"], letters.parts(mails["kid"].text)["Your"], logged["kid"])

    for role in ("family", "mate_family"):
        for other in NAMES_OF_OTHERS[role]:
            assert other not in mails[role].everything()
    pictures_as_agreed(mails, film)
    summary_opens(people["family"], mails["family"], club, logged["kid"])
    archive_opens(people["family"], week)
    one_click_stops_it(club, portal, mailbox, mails)


NAMES_OF_OTHERS = {
    "family": ("Brunhild", "Vasquell", "Gudrun"),
    "mate_family": ("Isaura", "Lucan", "Okonjo", "Marta"),
}


def answers_agree(who, club, name: str, sums: gym.Sums) -> None:
    path = f"/api/v1/players/{club.players[name]}/weeks/{club.week()}/"
    found = who.api("GET", path).json()
    for field in ("workouts", "minutes_own", "minutes_organised", "reps", "made", "tried"):
        assert found[field] == getattr(sums, field), field
    assert (found["low"], found["high"]) == pytest.approx(sums.interval(), abs=1e-9)
    assert found["share"] == pytest.approx(sums.made / sums.tried)


def drills_agree(who, told: letters.Told, bodies: list[dict]) -> None:
    rows = who.api("GET", "/api/v1/drills/").json()["results"]
    names = {row["slug"]: row["name"] for row in rows}
    for slug, (made, tried, reps) in gym.by_drill(bodies).items():
        if tried:
            assert told.counted(names[slug])[:2] == (made, tried), slug
        else:
            assert f"{names[slug]}: {reps} reps" in told.words


def pictures_as_agreed(mails, film: str) -> None:
    """The still goes along only where the guardian agreed, and only of her own child."""
    for role in ("mate", "mate_family", "coach", "director"):
        assert mails[role].pictures() == []
        assert "cid:still-" not in mails[role].html
    assert "no pictures of children in this email" in mails["mate_family"].html
    for role in ("kid", "family"):
        [picture] = mails[role].pictures()
        assert picture.get_content_type() == "image/jpeg"
        cid = picture["Content-ID"].strip("<>")
        assert mails[role].html.count(f"cid:{cid}") == 1
        shown = Image.open(io.BytesIO(picture.get_content()))
        shown.load()
        if film == "phone":
            assert films.number_on(shown) == uneven().on_screen(3000)


def summary_opens(guardian, mail, club, bodies) -> None:
    """From the mail to the summary in one tap, and what it says agrees with what was logged."""
    guardian.go(mail.link(f"/progress/players/{club.players['kid']}/"))
    made, tried, _reps = gym.by_drill(bodies)["five-spot-shooting"]
    row = guardian.page.locator("li.row", has_text="Five-spot catch-and-shoot")
    found = re.search(r"(\d+) of (\d+)", row.inner_text())
    # Eight weeks hold this one and the workouts of the week before.
    assert int(found.group(1)) >= made
    assert int(found.group(2)) >= tried
    assert "Flew past." in guardian.text()
    assert "Catch-and-shoot" in guardian.page.get_by_role("main").inner_text()


def archive_opens(guardian, week: str) -> None:
    """On the web the mail reads as it was sent, and its picture comes from the portal."""
    guardian.go("/digests/")
    with guardian.page.expect_response("**/feedback/deliveries/*/still/") as still:
        guardian.page.locator("main a", has_text=week).first.click()
    assert still.value.status in {200, 304}
    letter = guardian.page.frame_locator("iframe")
    expect(letter.get_by_role("heading", name="Isaura’s week")).to_be_visible()


def one_click_stops_it(club, portal, mailbox, mails) -> None:
    """A mail program posts to the link in the header, without a session and without cookies."""
    message = mails["family"].message
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    [address] = re.findall(r"<(http[^>]+)>", str(message["List-Unsubscribe"]))
    with urllib.request.urlopen(address) as asked:
        assert asked.status == 200
    body = b"List-Unsubscribe=One-Click"
    with urllib.request.urlopen(urllib.request.Request(address, data=body)) as answer:
        assert answer.status == 200
    year, week, _ = (club.now() - timedelta(days=7)).isocalendar()
    clubs.run(portal, "manage.py", "digests", "--week", f"{year}-W{week:02}", "--send")
    mailbox.wait(club.emails["mate_family"], subject=f"week {week}")
    mailbox.wait(club.emails["kid"], subject=f"week {week}")
    assert mailbox.to(club.emails["family"], subject=f"week {week}") == []


# --- kept apart ------------------------------------------------------------


def keep_it_apart(club, people, person) -> None:
    """Every address that anybody touched, asked for by the coach of another club."""
    outsider = person().sign_in(club.emails["outsider"])
    touched = {key for one in people.values() for key in one.touched}
    # The page that sent a film shows the film itself; its poster stands in lists.
    touched |= {(method, path.replace("/play/", "/poster/")) for method, path in touched}
    keys = {club.club, club.squad, *club.players.values()}
    keys |= {found for _method, path in touched for found in KEY.findall(path)}
    asked, open_to_all = set(), ("/static/", "/accounts/", "/healthz")
    for method, path in sorted(touched):
        if path.startswith(open_to_all):
            continue
        answer = outsider.api(method, path)
        asked.add(path)
        if KEY.search(path.partition("?")[0]):
            assert answer.status == 404, (method, path, answer.status)
        else:
            said = answer.body().decode()
            found = [word for word in (*NAMES, *keys) if word in said]
            assert not found, (method, path, found)
    for part in (
        "/play/",
        "/poster/",
        "/still/",
        "/clip/",
        "/check/",
        "/send/",
        "/seen/",
        "/weeks/",
    ):
        assert any(part in path for path in asked), part
    assert all(UUID(key) for key in keys)
