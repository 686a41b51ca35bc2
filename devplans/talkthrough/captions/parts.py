"""What reading a transcript gives: cues, what could not be read, and limits. Pure.

The texts are English and marked for translation; who shows them passes them through gettext.
"""

from dataclasses import dataclass

from devplans.film.faults import gettext_noop
from devplans.talkthrough.understand.parts import Cue

MOST_BYTES = 16 * 1024 * 1024
MOST_CUES = 120_000
MOST_FAULTS = 500
# Of one cue: half an hour of talk without a time in it.
MOST_LETTERS = 20_000
LONGEST_MS = 24 * 3_600_000


TOO_LARGE = gettext_noop(
    "This file is larger than 16 MB: no transcript of a game is. Choose another one."
)
NOT_TEXT = gettext_noop(
    "This is not a text file. Choose a transcript (WebVTT, SRT, or lines that begin with a time)."
)
EMPTY = gettext_noop("There are no words in this file. Choose the transcript again.")
NO_TIMES = gettext_noop(
    "No line of this file begins with a time. Use WebVTT, SRT, or lines such as “[2:05] …”."
)
NO_WORDS = gettext_noop("There are times in this file but no words.")
BAD_TIMING = gettext_noop(
    "The times of this cue cannot be read; its words are left out. Write them as "
    "“00:01:02.500 --> 00:01:05.000”."
)
BAD_END = gettext_noop("The end of this cue cannot be read; it is taken from its words.")
NO_ARROW = gettext_noop("There is no “-->” between these two times; they are read as if there was.")
ENDS_EARLY = gettext_noop("This cue does not end after it begins; its end is taken from its words.")
SIXTY = gettext_noop("Minutes and seconds go up to 59; this time is read as it stands.")
TOO_LATE = gettext_noop("This time is beyond 24 hours; its words are left out.")
OUT_OF_ORDER = gettext_noop(
    "This cue begins before the one above it; it is put where its time says."
)
LOOSE_WORDS = gettext_noop("These words have no time of their own; they follow those above them.")
BEFORE_TIMES = gettext_noop("These words stand before the first time; they are left out.")
BAD_TIME = gettext_noop(
    "The time at the beginning of this line cannot be read; its words follow those above."
)
TOO_LONG = gettext_noop(
    "This cue is longer than 20,000 letters; what comes after them is left out."
)
TOO_MANY_CUES = gettext_noop(
    "From this line on nothing is read: a transcript may have 120,000 cues."
)
MORE_FAULTS = gettext_noop("There are more lines that could not be read; only 500 are named.")


@dataclass(frozen=True)
class Fault:
    """Why something of a file could not be read. line counts from 1; 0 is the whole file."""

    line: int
    why: str


@dataclass(frozen=True)
class Transcript:
    """cues: by time, without overlaps. form: "webvtt", "srt", "plain" or "" where it is none."""

    cues: tuple[Cue, ...]
    faults: tuple[Fault, ...] = ()
    form: str = ""


@dataclass
class Raw:
    """A cue as it stands in a file: where, when (end None: not said) and its lines, unread."""

    line: int
    start_ms: int
    end_ms: int | None
    lines: list[str]


class Faults:
    """Collects faults, at most MOST_FAULTS of them."""

    def __init__(self) -> None:
        self._found: list[Fault] = []
        self._is_full = False

    def add(self, line: int, why: str) -> None:
        if len(self._found) < MOST_FAULTS:
            self._found.append(Fault(line, why))
        else:
            self._is_full = True

    def all(self) -> tuple[Fault, ...]:
        """By line; that there are more stands at the end."""
        found = sorted(self._found, key=lambda fault: fault.line)
        if self._is_full:
            found.append(Fault(0, MORE_FAULTS))
        return tuple(found)
