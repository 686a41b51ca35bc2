"""A stretch of a recording, cut out into a file of its own, that may go along with a comment."""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.files.storage import default_storage
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.core.ids import uuid7
from devplans.feedback import roster
from devplans.feedback.voices import keeping
from devplans.feedback.voices.log import BadLog, Log, read_log
from devplans.film import sandbox
from devplans.film.faults import NOT_SOUND, MediaError
from devplans.film.models import Film
from devplans.film.storing import on_disk
from devplans.people.models import Player

# A clip is watched on a phone in under a minute, or it is not watched.
LONGEST_MS = 60_000
MOST_CUES = 300
LONGEST_CUE = 500
# More than that is no drawing that anybody could follow in a minute.
MOST_STROKES = 120
MOST_POINTS = 6_000


@dataclass(frozen=True)
class Sound:
    """A stretch of a recording, cut out into a file of its own that no comment has yet."""

    key: str
    length_ms: int
    log: Log
    cues: list[tuple[int, int, str]]


def cut_sound(
    *,
    film: Film,
    players: Sequence[Player],
    source_key: str,
    start_ms: int,
    end_ms: int,
    log: Any,
    cues: Any,
) -> Sound:
    """Cut a stretch of sound out for a comment to `players`; arguments and errors as of
    `services.keep_voice`. It takes a while: not within a transaction. Whoever does not keep it
    drops it."""
    require_length(start_ms, end_ms)
    part = _cut_log(log, start_ms, end_ms)
    words = _checked_cues(cues, end_ms - start_ms)
    require_no_names(film, players, words, part)
    key, length_ms = _cut_file(source_key, start_ms, end_ms)
    return Sound(key, length_ms, part, words)


def drop_sound(sound: Sound) -> None:
    """Delete the file of a stretch that goes along with nothing."""
    default_storage.delete(sound.key)


def require_no_names(
    film: Film, players: Sequence[Player], words: Sequence[Any], part: Log
) -> None:
    """Raise DomainError "voice.names" where the words, or what is drawn, name somebody whom these
    players' families may not hear of."""
    entries = roster.roster(film, extra=players)
    texts = keeping.texts_of(words, part)
    names = keeping.names_in(texts, entries, [player.pk for player in players])
    if names:
        raise keeping.refusal(names)


def require_length(start_ms: int, end_ms: int) -> None:
    """Raise DomainError "voice.long" where a stretch is no stretch, or too long for a clip."""
    if not 0 <= start_ms < end_ms:
        raise DomainError("voice.long", _("There is no sound in that stretch."), field="voice")
    if end_ms - start_ms > LONGEST_MS:
        message = _(
            "Keep it under a minute: a clip is watched on a phone in passing. Split what you said, "
            "or send it without your voice."
        )
        raise DomainError("voice.long", message, field="voice")


def _cut_log(log: Any, start_ms: int, end_ms: int) -> Log:
    try:
        part = read_log(log).cut(start_ms, end_ms)
    except BadLog as error:
        raise DomainError("voice.log", _("What the film did cannot be read.")) from error
    points = sum(len(stroke.shape["points"]) for stroke in part.strokes)
    if len(part.strokes) > MOST_STROKES or points > MOST_POINTS:
        message = _("Too much is drawn in that stretch for a clip: split what you said.")
        raise DomainError("voice.log", message, field="voice")
    return part


def _checked_cues(cues: Any, length_ms: int) -> list[tuple[int, int, str]]:
    if not isinstance(cues, list | tuple) or len(cues) > MOST_CUES:
        raise _bad_cues()
    found = []
    for cue in cues:
        if not isinstance(cue, list | tuple) or len(cue) != 3:
            raise _bad_cues()
        start, end, text = cue
        if not (isinstance(start, int) and isinstance(end, int) and isinstance(text, str)):
            raise _bad_cues()
        if len(text) > LONGEST_CUE:
            raise _bad_cues()
        start, end = max(0, start), min(end, length_ms)
        words = " ".join(text.split())
        if start < end and words:
            found.append((start, end, words))
    return sorted(found)


def _bad_cues() -> DomainError:
    return DomainError("voice.cues", _("The words of your voice cannot be read."), field="voice")


def _cut_file(source_key: str, start_ms: int, end_ms: int) -> tuple[str, int]:
    """The key of the stretch as a file of its own, and its length."""
    try:
        with tempfile.TemporaryDirectory(prefix="voice-") as folder:
            source = on_disk(source_key, Path(folder))
            out = Path(folder) / "voice.m4a"
            length_ms = sandbox.cut_voice(source, out, start_ms=start_ms, end_ms=end_ms)
            with out.open("rb") as file:
                key = default_storage.save(f"voices/{uuid7().hex}.m4a", File(file))
    except (MediaError, OSError) as error:
        reason = error.reason if isinstance(error, MediaError) else NOT_SOUND
        raise DomainError("voice.sound", _(reason), field="voice") from error
    return key, length_ms
