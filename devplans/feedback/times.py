"""Film times as a coach reads and types them. Pure."""

import re

_TIME = re.compile(r"(?:(?:(\d{1,2}):)?(\d{1,3}):)?(\d{1,5})(?:[.,](\d{1,3}))?")


def told(ms: int | None) -> str:
    """Milliseconds as "12:04.300", hours in front where there are any; empty for none."""
    if ms is None:
        return ""
    seconds, rest = divmod(ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    front = f"{hours}:{minutes:02}" if hours else f"{minutes}"
    return f"{front}:{seconds:02}.{rest:03}"


def parsed(text: str) -> int:
    """ "12:04.3", "1:02:03" or "3.5" as milliseconds. Raises ValueError for anything else."""
    match = _TIME.fullmatch(text.strip())
    if match is None:
        raise ValueError(text)
    hours, minutes, seconds, rest = match.groups(default="0")
    in_minute = match[2] is not None
    if (in_minute and int(seconds) > 59) or (match[1] is not None and int(minutes) > 59):
        raise ValueError(text)
    return ((int(hours) * 60 + int(minutes)) * 60 + int(seconds)) * 1000 + int(rest.ljust(3, "0"))
