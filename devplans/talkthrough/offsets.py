"""Where a transcript begins on its film, as a coach types it. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.understand.parts import Cue

_OFFSET = re.compile(r"([+\-−–]?)\s*(?:(?:(\d{1,2}):)?(\d{1,3}):)?(\d{1,5})(?:[.,](\d{1,3}))?")
MOST_MS = 24 * 3_600_000


def parsed(text: str) -> int:
    """ "1:05", "-0:20" or "" as milliseconds, within a day. Raises ValueError for anything else."""
    if not text.strip():
        return 0
    match = _OFFSET.fullmatch(text.strip())
    if match is None:
        raise ValueError(text)
    sign, hours, minutes, seconds, rest = match.groups(default="0")
    if (match[3] is not None and int(seconds) > 59) or (match[2] is not None and int(minutes) > 59):
        raise ValueError(text)
    ms = ((int(hours) * 60 + int(minutes)) * 60 + int(seconds)) * 1000 + int(rest.ljust(3, "0"))
    if ms > MOST_MS:
        raise ValueError(text)
    return -ms if sign in "-−–" and sign != "" else ms


def told(ms: int) -> str:
    """Milliseconds as "1:05" or "-0:20"."""
    minutes, seconds = divmod(abs(ms) // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    clock = f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"
    return f"-{clock}" if ms < 0 else clock


def inside(cues: Sequence[Cue], duration_ms: int | None, offset_ms: int) -> int:
    """How many of the cues lie on a film of that length; all that do not lie before it, where
    nobody knows the length yet."""
    longest = MOST_MS if duration_ms is None else duration_ms
    return sum(cue.end_ms + offset_ms > 0 and cue.start_ms + offset_ms < longest for cue in cues)
