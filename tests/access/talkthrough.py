from typing import Any
from uuid import uuid4

from devplans.talkthrough.services import recording
from tests import factories as make
from tests.access import row


def things(cast: Any) -> None:
    """A film of the squad with a talk of its coach's, and one of a second coach's. And a film of
    the other squad that its coach opened."""
    cast.talk_film = make.make_film(cast.squad)
    cast.talk_open_film = make.make_film(cast.other_squad, open_to="squad")
    cast.talk_coach = make.make_user("Signe")
    make.make_member(cast.talk_coach, "coach", club=cast.club, squad=cast.squad)
    cast.talk_own = a_talk(cast.coach, cast.talk_film)
    cast.talk_theirs = a_talk(cast.talk_coach, cast.talk_film)
    if not cast.sibling.consents.exists():
        make.give_consent(cast.sibling)


def a_talk(coach: Any, film: Any) -> Any:
    talk = recording.begin_talk(actor=coach, film=film, talk_id=uuid4(), kind="whole")
    take = recording.begin_take(actor=coach, talk=talk, number=0, mime="audio/webm")
    recording.keep_piece(actor=coach, take=take, number=0, content=b"sound")
    return talk


def answers(others: int = 404, *, anon: int = 302, **more: int) -> dict[str, int]:
    return {"*": others, "anon": anon, **more}


def new_key(_cast: Any) -> Any:
    return uuid4()


FILM, OPEN_FILM = {"film_id": "talk_film"}, {"film_id": "talk_open_film"}
OWN, THEIRS = {"talk_id": "talk_own"}, {"talk_id": "talk_theirs"}
ZERO = {"number": lambda _cast: 0}
ONE = {"number": lambda _cast: 1}
PIECE = ZERO | {"piece_number": lambda _cast: 1}
# What a coach said is nobody else's, the director's neither.
MINE = answers(coach=200)
KIND = {"kind": "whole"}
TAKE = {"mime": "audio/webm", "log": [], "length_ms": None}

ROWS = [
    row("get", "talkthrough:over", FILM, answers(coach=200, director=403)),
    row("get", "talkthrough:over", OPEN_FILM, answers(other_coach=200, director=403, guardian=403)),
    row("put", "talkthrough:begin", FILM | {"talk_id": new_key}, answers(coach=200, director=403),
        body=KIND, json=True),
    row("put", "talkthrough:begin", OPEN_FILM | {"talk_id": new_key},
        answers(other_coach=200, director=403, guardian=403), body=KIND, json=True),
    row("put", "talkthrough:begin", FILM | OWN, answers(coach=200, director=403), body=KIND,
        json=True),
    row("put", "talkthrough:begin", FILM | THEIRS, answers(director=403), body=KIND, json=True),
    row("put", "talkthrough:take", OWN | ONE, MINE, body=TAKE, json=True),
    row("put", "talkthrough:take", THEIRS | ONE, answers(), body=TAKE, json=True),
    row("delete", "talkthrough:take", OWN | ZERO, MINE),
    row("delete", "talkthrough:take", THEIRS | ZERO, answers()),
    row("put", "talkthrough:piece", OWN | PIECE, MINE, body={"sound": 1}, json=True),
    row("put", "talkthrough:piece", THEIRS | PIECE, answers(), body={"sound": 1}, json=True),
    row("post", "talkthrough:recorded", OWN, MINE),
    row("post", "talkthrough:recorded", THEIRS, answers()),
    row("get", "talkthrough:lines", OWN, MINE),
    row("get", "talkthrough:lines", THEIRS, answers()),
    row("post", "talkthrough:delete", OWN, answers(coach=302)),
    row("post", "talkthrough:delete", THEIRS, answers()),
]  # fmt: skip
