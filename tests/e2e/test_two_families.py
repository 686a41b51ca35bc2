"""One comment for two players: what reaches one family says nothing of the other's child."""

import pytest

from tests.e2e import clubs, crawl, steps
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.soak]

BOTH = {
    "happened": "Isaura was late and Brunhild V. had to cover; number 94 told #97 to switch.",
    "do_instead": "Brunhild Vasquell: go early. Isaura: call it, and let nos. 94 and 97 talk.",
}
FAMILIES = {
    ("kid", "family"): (("Brunhild", "Vasquell", "Gudrun"), "94"),
    ("mate", "mate_family"): (("Isaura", "Okonjo", "Marta", "Lucan"), "97"),
}
HOMES = ("/", "/today/", "/family/", "/films/", "/people/me/", "/digests/", "/calendar/")


@pytest.fixture
def club(portal):
    return clubs.seed(portal)


def say_and_send(coach, club, film: str) -> list[str]:
    """One comment for both, sent; the coach reads every name in it."""
    late = {"players": ["kid", "mate"], "start_ms": 3000, "skill": "closeout-technique"}
    late |= {"verdict": "not_yet", **BOTH}
    talked = {"players": ["mate", "kid", "sibling"], "start_ms": 1000, "skill": "help-position"}
    talked |= {"verdict": "did_it", "happened": "All three talked: Isaura, Brunhild, Lucan."}
    keys = []
    for body in (late, talked):
        players = [club.players[name] for name in body.pop("players")]
        answer = coach.api(
            "POST", "/api/v1/comments/", film=film, end_ms=None, players=players, **body
        )
        assert answer.status == 201, answer.text()
        keys.append(answer.json()["id"])
    sent = coach.api("POST", "/api/v1/comments/send/", comments=keys)
    assert sent.status == 200, sent.text()
    assert "Brunhild V. had to cover" in sent.text()
    return keys


def talk(somebody, coach, words: str) -> None:
    """A question of one family and its answer."""
    somebody.go("/today/")
    somebody.page.locator("details.ask summary").tap()
    somebody.page.get_by_label("Your question").fill(words)
    somebody.press("Send the question")
    coach.go("/coach/")
    coach.follow(words)
    coach.page.get_by_label("Your answer").fill("Yes, both feet.")
    coach.press("Write it")


def test_no_family_reads_of_the_other(portal, mailbox, person, club):
    coach = person().sign_in(club.emails["coach"])
    people = {
        role: person(on="phone").sign_in(club.emails[role]) for pair in FAMILIES for role in pair
    }
    film_page = steps.upload(coach, films.shared_film("bikes"))
    film = film_page.strip("/").rsplit("/", 1)[-1]
    keys = say_and_send(coach, club, film)
    # The whole squad may watch the film too: its page must not tell either.
    coach.go(film_page)
    coach.page.get_by_text("About this film").click()
    coach.press("Open to the squad")
    talk(people["kid"], coach, "Both feet at the line?")
    talk(people["mate"], coach, "Do I stay low there?")
    mailbox.wait(club.emails["mate_family"], subject="wrote about a clip of Brunhild")
    clubs.run(portal, "manage.py", "digests", "--week", club.week(), "--send")
    week = f"eek {int(club.week()[-2:])}"
    for role in people:
        mailbox.wait(club.emails[role], subject=week)

    values = {
        "player_id": list(club.players.values()),
        "player": list(club.players.values()),
        "film_id": [film],
        "film": [film],
        "squad": [club.squad],
        "squad_id": [club.squad],
        "week": [club.week()],
        "id": keys,
        "workout_id": [],
        "pain_id": [],
        "event_id": [],
        "ms": ["3000"],
    }
    for family, (names, number) in FAMILIES.items():
        read = crawl.Seen()
        for role in family:
            crawl.pages(people[role], read, *HOMES)
            answered = crawl.api(people[role], read, values)
            assert "/api/v1/comments/" in answered
            for mail in mailbox.to(club.emails[role]):
                read.add(f"mail: {mail.subject}", mail.message.as_string(), mail.everything())
        assert read.naming(names, number) == []
        they_read_their_own(read, family)
    # The measure itself: what the coach reads of the same comments names everybody.
    theirs = crawl.Seen()
    crawl.pages(coach, theirs, f"/feedback/films/{film}/comments/")
    for names, number in FAMILIES.values():
        assert theirs.naming(names[:1], number)


def they_read_their_own(read: crawl.Seen, family: tuple[str, str]) -> None:
    """A crawl that reached nothing would find nothing."""
    kinds = (
        "/feedback/deliveries/", "/letter/", "/progress/players/", "/play/", "/clip/", "/frames/",
        "/workouts/of/", "/goals/", "/api/v1/comments/?film=", "mail: ",
    )  # fmt: skip
    for kind in kinds:
        assert any(kind in where for where in read.raw), kind
    everything = " ".join(read.words.values())
    assert "team-mate" in everything
    assert ("Isaura" if family[0] == "kid" else "Brunhild") in everything
