from typing import Any
from uuid import uuid4

from devplans.talkthrough.services import recording
from tests import factories as make
from tests.access import row
from tests.talkthrough import talks


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
    things_to_correct(cast)


def things_to_correct(cast: Any) -> None:
    """Talks that are ready, the coach's and the second coach's, with a suggestion each; a spelling
    and a phrase."""
    skill = make.make_skill(slug="talk-skill", name="Talk skill")
    cast.talk_skill = skill
    for name, coach in (("ready", cast.coach), ("ready_theirs", cast.talk_coach)):
        talk = talks.a_talk(cast.talk_film, coach)
        talks.say(talk, 1, 5, "Ines, good closeout, chest in front.")
        one = talks.suggestion(talk, [cast.kid], skill=skill)
        setattr(cast, f"talk_{name}", talk)
        setattr(cast, f"talk_one_{name}", one)
    for name, coach in (("failed", cast.coach), ("failed_theirs", cast.talk_coach)):
        failed = talks.a_talk(cast.talk_film, coach, state="failed", problem="It broke.")
        talks.say(failed, 1, 5, "Ines, good closeout.")
        setattr(cast, f"talk_{name}", failed)
    cast.talk_alias = cast.squad.aliases.create(player=cast.kid, heard="eyeness")
    cast.talk_phrase = cast.club.skill_phrases.create(skill=skill, text="the lighthouse")


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
READY, READY_THEIRS = {"talk_id": "talk_ready"}, {"talk_id": "talk_ready_theirs"}
FAILED, FAILED_THEIRS = {"talk_id": "talk_failed"}, {"talk_id": "talk_failed_theirs"}
ONE_READY = READY | {"suggestion_id": "talk_one_ready"}
ONE_THEIRS = READY_THEIRS | {"suggestion_id": "talk_one_ready_theirs"}
# Its suggestion, but not its talk: nothing there.
ONE_MIXED = READY | {"suggestion_id": "talk_one_ready_theirs"}
SQUAD, OTHER_SQUAD = {"squad_id": "squad"}, {"squad_id": "other_squad"}
SQUADS_OWN = answers(coach=200, director=403, welfare=403, player=403, teammate=403, guardian=403)
SQUADS_WRITE = SQUADS_OWN | {"coach": 302}
LINES = {"text": "0:01 Ines, good closeout.\n0:09 Runa, you are late.", "offset": "0:00"}


def edited(cast: Any) -> dict[str, Any]:
    return {
        "start_ms": "0:03", "end_ms": "", "who": "7", "skill": "Talk skill",
        "verdict": "not_yet", "happened": "Late.", "do_instead": "Go early.",
    }  # fmt: skip


def accepting(name: str) -> Any:
    return lambda cast: {"do": f"accept:{getattr(cast, name).pk}"}


def spelling(cast: Any) -> dict[str, Any]:
    return {"heard": "rooner", "player": str(cast.mate.pk)}


def phrase(cast: Any) -> dict[str, Any]:
    return {"text": "show your numbers", "skill": str(cast.talk_skill.pk)}


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
    row("get", "talkthrough:film", FILM, answers(coach=200, director=403)),
    row("get", "talkthrough:film", OPEN_FILM, answers(other_coach=200, director=403, guardian=403)),
    row("get", "talkthrough:transcript", FILM, answers(coach=200, director=403)),
    row("post", "talkthrough:transcript", FILM, answers(coach=200, director=403), body=LINES),
    row("post", "talkthrough:transcript-accept", FILM, answers(coach=302, director=403),
        body=LINES),
    row("post", "talkthrough:transcript-accept", OPEN_FILM,
        answers(other_coach=302, director=403, guardian=403), body=LINES),
    row("get", "talkthrough:correct", READY, MINE),
    row("get", "talkthrough:correct", READY, MINE, query="part=words"),
    row("get", "talkthrough:correct", OWN, MINE),
    row("get", "talkthrough:correct", READY_THEIRS, answers()),
    row("post", "talkthrough:do", READY, answers(coach=302), body=accepting("talk_one_ready")),
    row("post", "talkthrough:do", READY, answers(), body=accepting("talk_one_ready_theirs")),
    row("post", "talkthrough:do", READY_THEIRS, answers(),
        body=accepting("talk_one_ready_theirs")),
    row("post", "talkthrough:do", FAILED, answers(coach=302), body={"do": "retry"}),
    row("post", "talkthrough:do", FAILED_THEIRS, answers(), body={"do": "retry"}),
    row("get", "talkthrough:correct", FAILED, MINE),
    row("get", "talkthrough:edit", ONE_READY, MINE),
    row("get", "talkthrough:edit", ONE_MIXED, answers()),
    row("post", "talkthrough:edit", ONE_READY, answers(coach=302), body=edited),
    row("post", "talkthrough:edit", ONE_THEIRS, answers(), body=edited),
    row("get", "talkthrough:names", SQUAD, SQUADS_OWN),
    row("post", "talkthrough:names", SQUAD, SQUADS_WRITE, body=spelling),
    row("post", "talkthrough:alias-delete", SQUAD | {"alias_id": "talk_alias"}, SQUADS_WRITE),
    row("post", "talkthrough:alias-delete", OTHER_SQUAD | {"alias_id": "talk_alias"},
        answers(other_coach=404, director=403, welfare=403, guardian=403)),
    row("post", "talkthrough:phrase-add", SQUAD, SQUADS_WRITE, body=phrase),
    row("post", "talkthrough:phrase-delete", SQUAD | {"phrase_id": "talk_phrase"}, SQUADS_WRITE),
]  # fmt: skip
