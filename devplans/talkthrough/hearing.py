"""What is understood of a talk-through while it is still being recorded.

Only to be shown: it lies in the cache for a quarter of an hour, and nothing is made of it. When all
is said, the whole of it is written down by `writing`. Reads the pieces as they lie there and moves
none of them.
"""

import logging
import tempfile
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.cache import cache
from django.core.files.storage import default_storage

from devplans.film.intake import folder_for_work
from devplans.talkthrough import speech
from devplans.talkthrough.models import TalkTake, TalkThrough
from devplans.talkthrough.speech import NoSpeech
from devplans.talkthrough.understand.parts import Cue

log = logging.getLogger(__name__)
# Pieces of two seconds: every six seconds, and more seldom the longer a take is, since each time
# its file is read from the beginning.
EVERY = 3
SELDOMER = 40
_AT_WORK_S = 60
_KEPT_S = 900
_FOLDER_PREFIX = "talk-heard-"


def is_time(number: int) -> bool:
    """Is piece `number` one after which to listen again?"""
    return (number + 1) % max(EVERY, number // SELDOMER) == 0


def words_of(talk: TalkThrough) -> list[str]:
    """The sentences that were understood so far, in order; the last ones may yet change."""
    found = cache.get(_key(talk.pk))
    return [*found["sure"], *found["last"]] if found else []


def hear_so_far(take_id: UUID) -> bool:
    """Listen to what is new of a take that is being recorded; True if this call did."""
    open_takes = TalkTake.objects.filter(length_ms=None, talk__state=TalkThrough.State.RECORDING)
    take = open_takes.filter(pk=take_id).first()
    if take is None or not cache.add(f"{_key(take.talk_id)}:work", True, _AT_WORK_S):
        return False
    try:
        _hear(take)
    except (NoSpeech, OSError) as error:
        # What comes next may be readable; the words that count are written down later.
        log.info("take %s is not understood yet: %s", take.pk, error)
    finally:
        cache.delete(f"{_key(take.talk_id)}:work")
    return True


def _key(talk_id: UUID) -> str:
    return f"talk:{talk_id}:heard"


def _hear(take: TalkTake) -> None:
    known: dict[str, Any] = cache.get(_key(take.talk_id)) or {"sure": [], "last": []}
    if known.get("take") != take.number:
        # What an earlier take ended with is not listened to again.
        known = {"sure": [*known["sure"], *known["last"]], "last": [], "heard_ms": 0, "pieces": 0}
    pieces = take.pieces.count()
    if pieces == known["pieces"]:
        return
    stretches: list[tuple[list[Cue], int]] = []

    def on_heard(cues: list[Cue], heard_ms: int, _of_ms: int | None) -> None:
        stretches.append((cues, heard_ms))

    with tempfile.TemporaryDirectory(prefix=_FOLDER_PREFIX, dir=folder_for_work()) as folder:
        path = _joined(take, Path(folder))
        if path is None:
            return
        speech.listen(path, from_ms=known["heard_ms"], on_heard=on_heard)
    found = _known(known, stretches) | {"take": take.number, "pieces": pieces}
    cache.set(_key(take.talk_id), found, _KEPT_S)


def _known(known: dict[str, Any], stretches: list[tuple[list[Cue], int]]) -> dict[str, Any]:
    """The last stretch ends where the recording is by now, maybe within a word."""
    sure, last = stretches[:-1], stretches[-1:]
    return {
        "sure": [*known["sure"], *(cue.text for cues, _ms in sure for cue in cues)],
        "last": [cue.text for cues, _ms in last for cue in cues],
        "heard_ms": sure[-1][1] if sure else known["heard_ms"],
    }


def _joined(take: TalkTake, folder: Path) -> Path | None:
    path = folder / "sound"
    with path.open("wb") as target:
        for piece in take.pieces.exclude(key="").order_by("number"):
            with default_storage.open(piece.key) as source:
                target.write(source.read())
    return path if path.stat().st_size else None
