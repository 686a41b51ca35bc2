"""Lines that begin with a time: `[2:05] words`, `2:05 words`, `1:02:05.5 words`. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.captions import parts
from devplans.talkthrough.captions.parts import Faults, Raw
from devplans.talkthrough.captions.stamps import beyond_sixty, ms_of

_STAMP = r"(?:(\d{1,4}):)?(\d{1,4}):(\d{2})(?:[.,](\d{1,9}))?"
_LINE = re.compile(
    rf"\s*(?:[-*•]\s+)?[\[(<{{]?\s*{_STAMP}(?:\s*[-–—]\s*{_STAMP})?(?!\w|:\d)\s*[\])>}}]?"
    r"\s*[-–—:|>]*\s*"
)
# What looks as if it was meant as a time.
_MEANT = re.compile(r"\s*(?:[\[(]\s*\d|\d+:\d)")
_LOOKED_AT = 120


def begins_with_time(line: str) -> bool:
    return _LINE.match(line[:_LOOKED_AT]) is not None


def read(lines: Sequence[str], faults: Faults) -> list[Raw]:
    """The lines in the order of the file; one without a time goes on with the one above it."""
    found: list[Raw] = []
    lost = False
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        match = _LINE.match(line[:_LOOKED_AT])
        if match is None:
            if found and not lost:
                found[-1].lines.append(_without_time(number, line, faults))
            elif not lost:
                faults.add(number, parts.BEFORE_TIMES)
                lost = True
            continue
        if len(found) == parts.MOST_CUES:
            faults.add(number, parts.TOO_MANY_CUES)
            break
        lost = not _begin(found, number, match, line[match.end() :], faults)
    return found


def _begin(found: list[Raw], number: int, match: re.Match[str], words: str, faults: Faults) -> bool:
    start, end = match.groups()[:4], match.groups()[4:]
    start_ms = ms_of(start)
    if start_ms > parts.LONGEST_MS:
        faults.add(number, parts.TOO_LATE)
        return False
    if beyond_sixty(start):
        faults.add(number, parts.SIXTY)
    end_ms = ms_of(end) if end[1] is not None else None
    if end_ms is not None and not start_ms < end_ms <= parts.LONGEST_MS + 60_000:
        faults.add(number, parts.ENDS_EARLY)
        end_ms = None
    found.append(Raw(number, start_ms, end_ms, [words]))
    return True


def _without_time(number: int, line: str, faults: Faults) -> str:
    if _MEANT.match(line[:_LOOKED_AT]):
        faults.add(number, parts.BAD_TIME)
        return re.sub(r"^\s*[\[(]?[\d:.,xX?]*[\])]?\s*", "", line, count=1)
    return line
