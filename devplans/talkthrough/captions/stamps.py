"""Times as people and programs write them. Pure."""

import re

# Hours may be missing, one digit will do, a comma is as good as a dot, fractions may be missing.
STAMP = r"(?:(\d{1,4}):)?(\d{1,4}):(\d{1,2})(?:[.,](\d{1,9}))?"
_ARROW = r"(?:-{1,3}>|[–—]>|→)"
_TIMING = re.compile(rf"\s*{STAMP}\s*{_ARROW}\s*{STAMP}(?![\d:])")
_START_ONLY = re.compile(rf"\s*{STAMP}\s*{_ARROW}")
_NO_ARROW = re.compile(rf"\s*{STAMP}[ \t]+{STAMP}\s*")
_HAS_ARROW = re.compile(r"\d\s*-{1,3}>|-->|→\s*\d")
# Longer lines are words: no timing has so many letters.
_LONGEST = 400


def ms_of(parts: tuple[str | None, ...]) -> int:
    """The groups of STAMP as whole milliseconds."""
    hours, minutes, seconds, fraction = parts
    whole = int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0)
    return whole * 1000 + int((fraction or "0")[:3].ljust(3, "0"))


def beyond_sixty(parts: tuple[str | None, ...]) -> bool:
    """Minutes may pass 59 only where no hours are written."""
    hours, minutes, seconds, _fraction = parts
    return int(seconds or 0) > 59 or (hours is not None and int(minutes or 0) > 59)


class Timing:
    """A timing line, as far as it can be read. start_ms None: its start cannot be read."""

    def __init__(self, line: str) -> None:
        self.start_ms: int | None = None
        self.end_ms: int | None = None
        self.is_sixty = False
        self.has_arrow = True
        if match := _TIMING.match(line):
            self._take(match.groups())
        elif match := _NO_ARROW.fullmatch(line):
            self.has_arrow = False
            self._take(match.groups())
        elif match := _START_ONLY.match(line):
            self.start_ms = ms_of(match.groups())

    def _take(self, groups: tuple[str | None, ...]) -> None:
        self.start_ms, self.end_ms = ms_of(groups[:4]), ms_of(groups[4:])
        self.is_sixty = beyond_sixty(groups[:4]) or beyond_sixty(groups[4:])


def timing(line: str) -> Timing | None:
    """The line as a timing, whole or broken; None where it is none."""
    if len(line) > _LONGEST or not (_HAS_ARROW.search(line) or _NO_ARROW.fullmatch(line)):
        return None
    return Timing(line)
