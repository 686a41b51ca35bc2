"""A file somebody names to a command: a transcript, or sound that is written down first."""

from collections.abc import Callable
from pathlib import Path

from devplans.talkthrough import captions
from devplans.talkthrough.captions import Fault, parts
from devplans.talkthrough.captions.letters import lines_of
from devplans.talkthrough.understand.parts import Cue

# Five hours of talk.
MOST_WORDS = 50_000
_LOOKED_AT = 65_536


class Unusable(Exception):
    """Why a file gives no words, in one line that says what to do."""


def words_in(
    path: Path, *, on_progress: Callable[[float], None] | None = None
) -> tuple[list[Cue], tuple[Fault, ...]]:
    """The cues of the file and what could not be read; what it is says its content, not its name.

    Raises Unusable.
    """
    try:
        with path.open("rb") as file:
            start = file.read(_LOOKED_AT)
            if not start.strip():
                raise Unusable(f"{path.name}: {parts.EMPTY}")
            if not _is_text(start):
                return _bounded(path.name, _spoken(path, on_progress)), ()
            cues, faults = _transcript(path.name, start + file.read(parts.MOST_BYTES))
            return _bounded(path.name, cues), faults
    except OSError as error:
        raise Unusable(f"{path.name} cannot be opened: {error.strerror}.") from error


def _bounded(name: str, cues: list[Cue]) -> list[Cue]:
    words = sum(cue.text.count(" ") + 1 for cue in cues)
    if words > MOST_WORDS:
        raise Unusable(
            f"{name}: this has {words:,} words. Talks of up to {MOST_WORDS:,} (five hours) are "
            "understood: cut it into parts."
        )
    return cues


def _is_text(start: bytes) -> bool:
    lines = lines_of(start)
    if lines is None:
        return False
    # Some sound begins with signs that are letters in an old encoding.
    text = "\n".join(lines)
    strange = sum(not (sign.isprintable() or sign.isspace()) or sign == "�" for sign in text)
    return strange * 20 <= len(text)


def _transcript(name: str, content: bytes) -> tuple[list[Cue], tuple[Fault, ...]]:
    transcript = captions.read(content)
    if not transcript.cues:
        whole = [fault for fault in transcript.faults if fault.line == 0]
        first = (whole or list(transcript.faults))[0]
        raise Unusable(f"{name}: {first.why}")
    return list(transcript.cues), transcript.faults


def _spoken(path: Path, on_progress: Callable[[float], None] | None) -> list[Cue]:
    from devplans.talkthrough import speech

    try:
        return speech.write_down(path, on_progress=on_progress)
    except speech.NoSpeech as error:
        raise Unusable(f"{path.name}: {error.reason}") from error
