"""Talks with suggestions, made row by row: what correcting them does is what is looked at."""

import itertools
from typing import Any

from devplans.talkthrough.models import Suggestion, TalkLine, TalkTake, TalkThrough
from tests import factories as make

_place = itertools.count(1)


def a_talk(film: Any, coach: Any, *, kind: str = "transcript", **fields: Any) -> TalkThrough:
    fields.setdefault("state", "ready")
    return TalkThrough.objects.create(film=film, coach=coach, kind=kind, **fields)


def a_take(talk: TalkThrough, number: int = 1, **fields: Any) -> TalkTake:
    fields.setdefault("log", [{"at": 0, "film_ms": 0, "rate": 1}])
    fields.setdefault("sound_key", f"talk/{talk.pk}/{number}.webm")
    return TalkTake.objects.create(talk=talk, number=number, **fields)


def say(talk: TalkThrough, start_s: float, end_s: float, text: str, *, take: Any = None) -> Any:
    """A line of the talk; the film runs along with it unless the take says otherwise."""
    start, end = round(start_s * 1000), round(end_s * 1000)
    return TalkLine.objects.create(
        talk=talk, take=take, place=next(_place), start_ms=start, end_ms=end,
        film_start_ms=max(0, start + talk.offset_ms), film_end_ms=max(0, end + talk.offset_ms),
        text=text,
    )  # fmt: skip


def suggestion(talk: TalkThrough, players: Any = (), **fields: Any) -> Suggestion:
    """One that is certain unless told otherwise; half a minute after the one before."""
    start = fields.setdefault("start_ms", 1_000)
    fields.setdefault("place", fields.setdefault("sound_start_ms", start))
    fields.setdefault("end_ms", start + 4_000)
    fields.setdefault("sound_end_ms", fields["sound_start_ms"] + 4_000)
    fields.setdefault("verdict", "did_it")
    fields.setdefault("said", "Good closeout, chest in front.")
    fields.setdefault("happened", fields["said"])
    if "skill" not in fields:
        fields["skill"] = make.make_skill()
    made = Suggestion.objects.create(talk=talk, **fields)
    made.players.set(players)
    return made


def heard(text: str, *players: Any, sure: bool = False) -> dict[str, Any]:
    return {"text": text, "players": [str(player.pk) for player in players], "sure": sure}
