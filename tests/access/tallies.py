from typing import Any
from uuid import uuid4

from devplans.tallies import services
from devplans.tallies.models import Tally
from tests import factories as make
from tests.access import row


def things(cast: Any) -> None:
    """Counts on a film of the squad: two closed ones, one of them by a second coach, and open ones
    of the coach on films of their own. And one film of the other squad that its coach opened."""
    cast.tally_skill, cast.tally_other_skill = make.make_skill(), make.make_skill()
    cast.second_coach = make.make_user("Sigrun")
    make.make_member(cast.second_coach, "coach", club=cast.club, squad=cast.squad)
    cast.tally_film = make.make_film(cast.squad)
    cast.tally_closed = a_tally(cast, cast.coach, cast.tally_film, closed=True)
    cast.tally_second = a_tally(cast, cast.second_coach, cast.tally_film, closed=True)
    cast.tally_open = a_tally(cast, cast.coach, make.make_film(cast.squad))
    cast.tally_theirs = a_tally(cast, cast.second_coach, make.make_film(cast.squad))
    sampled = make.make_film(cast.squad)
    for number in range(30):
        sampled.possessions.create(
            side="ours", start_ms=number * 3_000, end_ms=number * 3_000 + 2_000
        )
    cast.tally_sample = a_tally(cast, cast.coach, sampled, scope="sample", drawn=6)
    cast.tally_open_film = make.make_film(cast.other_squad, open_to="squad")
    if not cast.sibling.consents.exists():
        make.give_consent(cast.sibling)


def a_tally(cast: Any, coach: Any, film: Any, *, closed: bool = False, **more: Any) -> Tally:
    tally = services.start_tally(
        actor=coach, film=film, skills=[cast.tally_skill], players=[cast.kid, cast.mate], **more
    )
    if not more:
        chances = [
            services.Chance(uuid4(), 1_000 * n, cast.kid.pk, cast.tally_skill.pk, n % 2 == 0)
            for n in range(4)
        ]
        services.keep_marks(actor=coach, tally=tally, chances=chances)
    return services.close_tally(actor=coach, tally=tally, sure=True) if closed else tally


def a_mark(cast: Any) -> dict[str, Any]:
    return {
        "marks": [
            {
                "id": str(uuid4()),
                "ms": 4_000,
                "player": str(cast.kid.pk),
                "skill": str(cast.tally_skill.pk),
                "did_it": True,
                "place": None,
            }
        ]
    }


def start(cast: Any) -> dict[str, Any]:
    return {"skill": cast.tally_other_skill.pk, "scope": "whole"}


def answers(others: int = 404, *, anon: int = 302, **more: int) -> dict[str, int]:
    return {"*": others, "anon": anon, **more}


FILM, OPEN_FILM = {"film_id": "tally_film"}, {"film_id": "tally_open_film"}
CLOSED, OPEN = {"tally_id": "tally_closed"}, {"tally_id": "tally_open"}
SECOND, THEIRS = {"tally_id": "tally_second"}, {"tally_id": "tally_theirs"}
SAMPLE = {"tally_id": "tally_sample"}
PAIR = {"tally_id": "tally_closed", "other_id": "tally_second"}
SEEN = answers(coach=200, director=200)
OWN = answers(coach=200)
# Another's open count is nobody else's business, the director's neither.
OWN_WRITE = answers(coach=302)
CLOSED_WRITE = answers(coach=302, director=403)

ROWS = [
    row("get", "tallies:film", FILM, SEEN),
    row("get", "tallies:film", OPEN_FILM, answers(other_coach=200, director=200, guardian=403)),
    row("get", "tallies:start", FILM, answers(coach=200, director=403)),
    row(
        "get",
        "tallies:start",
        OPEN_FILM,
        answers(other_coach=200, director=403, guardian=403),
    ),
    row("post", "tallies:start", FILM, answers(coach=302, director=403), body=start),
    row("get", "tallies:tally", CLOSED, SEEN),
    row("get", "tallies:tally", OPEN, OWN),
    row("get", "tallies:tally", SAMPLE, OWN),
    row("get", "tallies:tally", THEIRS, answers()),
    row("post", "tallies:marks", OPEN, OWN, body=a_mark, json=True),
    row("post", "tallies:marks", CLOSED, answers(coach=200, director=403), body=a_mark, json=True),
    row("post", "tallies:marks", SECOND, answers(403, **dict.fromkeys(
        ("stranger", "player", "teammate", "guardian", "other_coach", "welfare", "ex_guardian",
         "outsider"), 404)), body=a_mark, json=True),
    row("post", "tallies:marks", THEIRS, answers(), body=a_mark, json=True),
    row("post", "tallies:more", SAMPLE, OWN_WRITE),
    row("post", "tallies:more", THEIRS, answers()),
    row("post", "tallies:close", OPEN, OWN_WRITE, body={"sure": "on"}),
    row("post", "tallies:close", THEIRS, answers(), body={"sure": "on"}),
    row("post", "tallies:close", SECOND, answers(coach=403, director=403), body={"sure": "on"}),
    row("post", "tallies:reopen", CLOSED, CLOSED_WRITE),
    row("post", "tallies:reopen", SECOND, answers(coach=403, director=403)),
    row("post", "tallies:delete", OPEN, OWN_WRITE),
    row("post", "tallies:delete", SECOND, answers(coach=403, director=403)),
    row("get", "tallies:agreement", PAIR, SEEN),
]  # fmt: skip
