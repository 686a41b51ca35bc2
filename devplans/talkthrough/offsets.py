"""Where a transcript begins on its film, as a coach types it. Pure."""

from collections.abc import Sequence

from devplans.feedback import times
from devplans.talkthrough.understand.parts import Cue

_SIGNS = {"+": 1, "-": -1, "−": -1, "–": -1}
MOST_MS = 24 * 3_600_000


def parsed(text: str) -> int:
    """ "1:05", "-0:20" or "" as milliseconds, within a day. Raises ValueError for anything else."""
    text = text.strip()
    if not text:
        return 0
    sign = _SIGNS.get(text[0])
    ms = times.parsed(text if sign is None else text[1:])
    if ms > MOST_MS:
        raise ValueError(text)
    return ms * (sign or 1)


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
