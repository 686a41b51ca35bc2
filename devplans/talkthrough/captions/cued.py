"""WebVTT and SRT: whatever stands between two timing lines belongs to the upper one. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.captions import parts
from devplans.talkthrough.captions.parts import Faults, Raw
from devplans.talkthrough.captions.stamps import Timing, timing

_HEADER = re.compile(r"WEBVTT(?:[ \t]|$)")
_SKIPPED = re.compile(r"(?:NOTE|STYLE|REGION)(?:[ \t]|$)")


def has_timing(lines: Sequence[str]) -> bool:
    return any(
        found is not None and found.start_ms is not None and found.has_arrow
        for found in map(timing, lines)
    )


def is_webvtt(lines: Sequence[str]) -> bool:
    return bool(lines) and bool(_HEADER.match(lines[0].lstrip()))


def read(lines: Sequence[str], faults: Faults) -> list[Raw]:
    """The cues in the order of the file."""
    reader = _Reader(faults, named=is_webvtt(lines))
    for number, line in enumerate(lines, 1):
        reader.take(number, line)
        if len(reader.found) > parts.MOST_CUES:
            faults.add(number, parts.TOO_MANY_CUES)
            reader.found.pop()
            break
    reader.end()
    return reader.found


class _Reader:
    """named: cues may have names of any words, which stand above their times."""

    def __init__(self, faults: Faults, *, named: bool) -> None:
        self.found: list[Raw] = []
        self._faults = faults
        self._named = named
        # Until the next empty line nothing is read: a header, a note, the words of a broken cue.
        self._is_skipping = False
        self._after_blank = True
        # Lines after the last time or empty line, with their numbers; the last may be a name.
        self._held: list[tuple[int, str]] = []
        self._block_has_time = False
        self._last_number = 0

    def take(self, number: int, line: str) -> None:
        if (found := timing(line)) is not None:
            self._timed(number, found)
        elif line == "" or (line.isspace() and not self._block_has_time):
            self._blank()
        elif self._is_skipping:
            pass
        elif self._after_blank and (_HEADER.match(line) or _SKIPPED.match(line)):
            self._is_skipping = True
        else:
            self._after_blank = False
            self._held.append((number, line))

    def end(self) -> None:
        self._keep()

    def _blank(self) -> None:
        self._keep()
        self._after_blank, self._is_skipping, self._block_has_time = True, False, False

    def _timed(self, number: int, found: Timing) -> None:
        self._drop_name()
        self._keep()
        self._after_blank, self._block_has_time = False, True
        self._is_skipping = not self._begin(number, found)

    def _drop_name(self) -> None:
        """The line above a time is the cue's number, or in WebVTT any name; all else are words."""
        if not self._held:
            return
        name = self._held[-1][1].strip()
        alone = len(self._held) == 1 and not self._block_has_time
        counted = name.isdecimal() and len(name) < 10 and int(name) == self._last_number + 1
        if (alone and (self._named or name.isdecimal())) or counted:
            self._held.pop()
            if name.isdecimal() and len(name) < 10:
                self._last_number = int(name)

    def _keep(self) -> None:
        held, self._held = self._held, []
        if not held:
            return
        if not self.found:
            self._faults.add(held[0][0], parts.BEFORE_TIMES)
            return
        if not self._block_has_time:
            self._faults.add(held[0][0], parts.LOOSE_WORDS)
        self.found[-1].lines += [line for _number, line in held]

    def _begin(self, number: int, found: Timing) -> bool:
        if found.start_ms is None:
            self._faults.add(number, parts.BAD_TIMING)
            return False
        if found.start_ms > parts.LONGEST_MS:
            self._faults.add(number, parts.TOO_LATE)
            return False
        if not found.has_arrow:
            self._faults.add(number, parts.NO_ARROW)
        if found.is_sixty:
            self._faults.add(number, parts.SIXTY)
        end_ms = found.end_ms
        if end_ms is None:
            self._faults.add(number, parts.BAD_END)
        elif end_ms <= found.start_ms or end_ms > parts.LONGEST_MS + 60_000:
            self._faults.add(number, parts.ENDS_EARLY)
            end_ms = None
        self.found.append(Raw(number, found.start_ms, end_ms, []))
        return True
