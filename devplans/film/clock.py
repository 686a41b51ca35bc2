"""Film time and game clock, both ways. Pure.

A clock mark says that at `film_ms` the clock of `period` showed `clock_s` seconds left. Between two
marks the clock may stand for as long as it likes, but it never runs faster than real time, and
never up. So a pair of marks bounds every value between them from both sides: it cannot be shown
before the clock had time to run down to it from the earlier mark, nor so late that the clock has
not the time left to reach the later one. All bounds here come from that one argument:

- A mark of the very value asked for bounds nothing by itself, for the clock may have stood there
  before and after; its neighbours do. The window always holds such marks.
- Across periods the rest of the earlier period, every whole period between, and the part of the
  later one that is over must have run too. That needs the lengths (`rules`); without them only the
  rest of the earlier period counts, which is a wider window and still a true one.
- Where the marks of two periods lie nearer on the film than the clock between them takes, the
  camera was off meanwhile; then only their order is used.
- Before the first and after the last mark the film's own ends bound: 0 and `duration_ms`.

Lengths: rule books as of 2026 (FIBA and NBA quarters of 10 and 12 minutes, NCAA men's halves of 20,
NFHS quarters of 8; overtime 5 minutes, NFHS 4). Other lengths, as of youth games, are a film's own.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from typing import Any, NamedTuple

# The last film time that a row can hold: where a film's end is not known.
FARTHEST_MS = 2**31 - 1
MOST_PERIODS = 8
MOST_OVERTIMES = 8
# A board shows whole seconds: two readings can differ by one from what ran between them.
ROUNDING_S = 1
WIDE_S = 2


class ClockError(ValueError):
    """A mark or a question that no game clock allows. `code` is stable, `facts` fill its words."""

    def __init__(self, code: str, **facts: Any) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


class Mark(NamedTuple):
    film_ms: int
    period: int
    clock_s: Any


@dataclass(frozen=True)
class Rules:
    """How many periods a game has, and how long they are, in seconds."""

    periods: int
    period_s: int
    overtime_s: int

    @property
    def last_period(self) -> int:
        return self.periods + MOST_OVERTIMES

    def length_s(self, period: int) -> int:
        return self.period_s if period <= self.periods else self.overtime_s

    def name(self, period: int) -> str:
        """ "Q2" of four, "H1" of two, "P3" of any other number; then "OT", "OT2"."""
        if period <= self.periods:
            return f"{ {4: 'Q', 2: 'H'}.get(self.periods, 'P') }{period}"
        extra = period - self.periods
        return "OT" if extra == 1 else f"OT{extra}"


RULE_SETS = {
    "fiba": Rules(4, 600, 300),
    "nba": Rules(4, 720, 300),
    "ncaa": Rules(2, 1_200, 300),
    "nfhs": Rules(4, 480, 240),
}


def _exact(seconds: Any) -> Fraction:
    # By its decimal digits: 390.1 means 390.1, not the float next to it.
    return Fraction(str(seconds))


@dataclass(frozen=True)
class _Place:
    """A value of the clock. Later in the game is greater."""

    period: int
    clock: Fraction

    def __lt__(self, other: "_Place") -> bool:
        return (self.period, -self.clock) < (other.period, -other.clock)


@dataclass(frozen=True)
class _Point:
    ms: int
    place: _Place


class Prepared(list[_Point]):
    """Marks made ready once, for many questions."""


def prepared(marks: Iterable[Any]) -> Prepared:
    """`marks` in a form that every function here takes and need not read again."""
    return Prepared(_points(marks))


def _points(marks: Iterable[Any]) -> list[_Point]:
    if isinstance(marks, Prepared):
        return marks
    found = [_Point(int(ms), _Place(period, _exact(clock))) for ms, period, clock in marks]
    return sorted(found, key=lambda point: point.ms)


def _ran_ms(earlier: _Place, later: _Place, rules: Rules | None) -> Fraction:
    """Milliseconds that the clock must have run between two places, at the least."""
    if earlier.period == later.period:
        return 1000 * (earlier.clock - later.clock)
    ran = earlier.clock
    if rules is not None:
        between = range(earlier.period + 1, later.period)
        ran += sum(rules.length_s(period) for period in between)
        ran += max(Fraction(0), rules.length_s(later.period) - later.clock)
    return 1000 * ran


def check(rules: Rules, period: int, clock_s: Any) -> None:
    """Raise ClockError "clock.period", "clock.negative" or "clock.too_long" for what no clock of
    these rules shows."""
    if not 1 <= period <= rules.last_period:
        raise ClockError("clock.period", periods=rules.periods)
    if _exact(clock_s) < 0:
        raise ClockError("clock.negative")
    length = rules.length_s(period)
    if _exact(clock_s) > length:
        raise ClockError("clock.too_long", period=rules.name(period), length=told(length))


def check_mark(
    marks: Iterable[Any], mark: Any, *, rules: Rules, duration_ms: int | None = None
) -> None:
    """Raise ClockError where `mark` cannot be true beside `marks`, which are true.

    Codes: those of `check`, "clock.film_time" (outside the film), "clock.same_moment" (a mark is
    there), "clock.period_order", "clock.goes_up", "clock.too_fast" (within one period more seconds
    run on the clock than pass on the film, beyond the whole second that a board rounds by).
    """
    film_ms, period, clock_s = mark
    if film_ms < 0 or (duration_ms is not None and film_ms > duration_ms):
        raise ClockError("clock.film_time")
    check(rules, period, clock_s)
    points = _points(marks)
    if any(point.ms == film_ms for point in points):
        raise ClockError("clock.same_moment")
    here = _Point(film_ms, _Place(period, _exact(clock_s)))
    before = [point for point in points if point.ms < film_ms]
    after = [point for point in points if point.ms > film_ms]
    if before:
        _check_pair(before[-1], here, before[-1], rules)
    if after:
        _check_pair(here, after[0], after[0], rules)


def _check_pair(earlier: _Point, later: _Point, known: _Point, rules: Rules) -> None:
    """`known` is the one of the two that stands; the words name it."""
    facts = {
        "mark": f"{rules.name(known.place.period)} {told(known.place.clock)}",
        "mark_ms": known.ms,
        "is_later": known is later,
    }
    if earlier.place.period > later.place.period:
        raise ClockError("clock.period_order", **facts)
    if earlier.place.period < later.place.period:
        return
    if later.place.clock > earlier.place.clock:
        raise ClockError("clock.goes_up", **facts)
    ran = earlier.place.clock - later.place.clock
    passed = Fraction(later.ms - earlier.ms, 1000)
    if ran > passed + ROUNDING_S:
        raise ClockError("clock.too_fast", ran=told(ran), passed=told(floor(passed)), **facts)


def check_marks(marks: Iterable[Any], *, rules: Rules, duration_ms: int | None = None) -> None:
    """Raise ClockError for the first mark, by film time, that cannot follow those before it."""
    kept: list[Any] = []
    for mark in sorted(marks, key=lambda mark: int(mark[0])):
        check_mark(kept, mark, rules=rules, duration_ms=duration_ms)
        kept.append(mark)


def window(
    marks: Iterable[Any],
    period: int,
    clock_s: Any,
    *,
    rules: Rules | None = None,
    duration_ms: int | None = None,
) -> tuple[int, int]:
    """(earliest_ms, latest_ms) of the film at which the clock of `period` showed `clock_s`.

    marks: (film_ms, period, clock_s) in seconds left, in any order. Whatever the clock did, every
    moment at which it showed that value lies in the window, both ends included. Without
    `duration_ms` nothing bounds what comes after the last mark: FARTHEST_MS.
    Raises ClockError as `check` does, for a negative clock or a period below 1 also without rules.
    """
    check(rules or Rules(MOST_PERIODS, FARTHEST_MS, FARTHEST_MS), period, clock_s)
    points, wanted = _points(marks), _Place(period, _exact(clock_s))
    end = FARTHEST_MS if duration_ms is None else duration_ms
    earliest, latest = _bounds(points, wanted, end, rules)
    if earliest > latest:
        earliest, latest = _bounds(points, wanted, end, rules, by_order=True)
    if earliest > latest:
        earliest, latest = _between(points, wanted, end, earliest, latest)
    return floor(earliest), ceil(latest)


def _between(
    points: list[_Point], wanted: _Place, end: int, earliest: Fraction, latest: Fraction
) -> tuple[Fraction, Fraction]:
    """Bounds that cross: by the second that a board rounds by, or the moment was not filmed."""
    before = [point for point in points if point.place < wanted]
    after = [point for point in points if wanted < point.place]
    if before and after and before[-1].place.period == after[0].place.period:
        return latest, earliest
    first = before[-1].ms if before else 0
    return Fraction(first), Fraction(after[0].ms if after else end)


def _bounds(
    points: list[_Point], wanted: _Place, end: int, rules: Rules | None, *, by_order: bool = False
) -> tuple[Fraction, Fraction]:
    earliest, latest = Fraction(0), Fraction(end)
    for point in points:
        order_only = by_order and point.place.period != wanted.period
        if point.place < wanted:
            ran = Fraction(0) if order_only else _ran_ms(point.place, wanted, rules)
            earliest = max(earliest, point.ms + ran)
        elif wanted < point.place:
            ran = Fraction(0) if order_only else _ran_ms(wanted, point.place, rules)
            latest = min(latest, point.ms - ran)
    # Rounded readings around a mark of this very value never shut it out.
    same = [Fraction(point.ms) for point in points if point.place == wanted]
    return min([earliest, *same]), max([latest, *same])


class Reading(NamedTuple):
    """What the clock can have shown: from `high_s` left in `period` down to `low_s` left in
    `last_period`, which is another one where a break may lie between."""

    period: int
    high_s: float
    low_s: float
    last_period: int

    @property
    def is_wide(self) -> bool:
        return self.last_period != self.period or self.high_s - self.low_s > WIDE_S


def _neighbours(points: list[_Point], film_ms: int) -> tuple[_Point | None, _Point | None]:
    before = [point for point in points if point.ms <= film_ms]
    after = [point for point in points if point.ms >= film_ms]
    return (before[-1] if before else None), (after[0] if after else None)


def _forward(place: _Place, ms: int, rules: Rules | None) -> _Place:
    """Where the clock is when it never stood. Past the last regular period nothing follows: that
    there was an overtime is told by a mark in it."""
    period, clock = place.period, place.clock - Fraction(ms, 1000)
    while clock < 0 and rules is not None and period < rules.periods:
        period += 1
        clock += rules.length_s(period)
    return _Place(period, max(Fraction(0), clock))


def _back(place: _Place, ms: int, rules: Rules | None) -> _Place:
    period, clock = place.period, place.clock + Fraction(ms, 1000)
    if rules is None:
        return _Place(period, clock)
    while clock > rules.length_s(period) and period > 1:
        clock -= rules.length_s(period)
        period -= 1
    return _Place(period, min(clock, Fraction(rules.length_s(period))))


def at(marks: Iterable[Any], film_ms: int, *, rules: Rules | None = None) -> Reading | None:
    """What the clock can have shown at a film time; None where there are no marks at all.

    Without `rules` the lengths of the periods are not known, and a reading outside of the marks of
    a period stays in it.
    """
    points = _points(marks)
    earlier, later = _neighbours(points, film_ms)
    least = [point.place for point in [earlier] if point]
    most = [point.place for point in [later] if point]
    if not least and not most:
        return None
    if later:
        least.append(_back(later.place, later.ms - film_ms, rules))
    if earlier:
        most.append(_forward(earlier.place, film_ms - earlier.ms, rules))
    first, last = max(least), min(most)
    if last < first:
        # The film was cut here, or a reading was rounded: what the two marks say is all there is.
        first, last = min(least + most), max(least + most)
    return Reading(first.period, float(first.clock), float(last.clock), last.period)


def pace(marks: Iterable[Any]) -> float:
    """Seconds of the clock per second of film between the marks of one period; 1 where there are
    no two."""
    points = _points(marks)
    ran = passed = Fraction(0)
    for one, other in pairwise(points):
        if one.place.period == other.place.period:
            ran += one.place.clock - other.place.clock
            passed += Fraction(other.ms - one.ms, 1000)
    return min(1.0, float(ran / passed)) if ran and passed else 1.0


def expected(
    marks: Iterable[Any], film_ms: int, *, rules: Rules | None = None
) -> tuple[int, float] | None:
    """(period, seconds left) that the clock most likely shows: in step between two marks of a
    period, else at the film's own pace from the nearest one. Always within `at`."""
    marks = prepared(marks)
    reading = at(marks, film_ms, rules=rules)
    if reading is None:
        return None
    earlier, later = _neighbours(marks, film_ms)
    if earlier and (not later or later.place.period != earlier.place.period):
        guess = float(earlier.place.clock) - pace(marks) * (film_ms - earlier.ms) / 1000
        if earlier.place.period == reading.period:
            low = reading.low_s if reading.last_period == reading.period else 0.0
            return reading.period, min(max(guess, low), reading.high_s)
    if later:
        guess = float(later.place.clock) + pace(marks) * (later.ms - film_ms) / 1000
        if earlier and earlier.place.period == later.place.period and later.ms > earlier.ms:
            share = (film_ms - earlier.ms) / (later.ms - earlier.ms)
            gone = float(earlier.place.clock - later.place.clock) * share
            guess = float(earlier.place.clock) - gone
        if later.place.period == reading.last_period:
            longest = float(rules.length_s(later.place.period)) if rules else guess
            high = reading.high_s if reading.period == reading.last_period else longest
            return reading.last_period, min(max(guess, reading.low_s), high)
    return reading.period, reading.high_s


def told(clock_s: Any) -> str:
    """Seconds left as a board shows them: "4:31", and "0:08.4" in the last minute."""
    tenths = floor(_exact(clock_s) * 10)
    minutes, seconds = divmod(tenths // 10, 60)
    rest = f".{tenths % 10}" if not minutes and tenths % 10 else ""
    return f"{minutes}:{seconds:02}{rest}"


def label(marks: Iterable[Any], film_ms: int, *, rules: Rules) -> str:
    """ "Q2 4:31", with "~" in front where the clock may have shown more than two seconds more or
    less, "Q1–Q2" where it may be either; empty without marks."""
    marks = prepared(marks)
    reading = at(marks, film_ms, rules=rules)
    if reading is None:
        return ""
    if reading.period != reading.last_period:
        return f"{rules.name(reading.period)}–{rules.name(reading.last_period)}"
    guess = expected(marks, film_ms, rules=rules)
    shown = floor(guess[1]) if guess and guess[1] >= 60 else round(guess[1], 1) if guess else 0
    return f"{'~' if reading.is_wide else ''}{rules.name(reading.period)} {told(shown)}"


def bounds(
    marks: Iterable[Any], *, rules: Rules, duration_ms: int | None = None
) -> list[tuple[int, int]]:
    """(period, film_ms) where each marked period may have begun at the latest, in order."""
    marks = list(marks)
    found = []
    for period in sorted({mark[1] for mark in marks}):
        _, latest = window(
            marks, period, rules.length_s(period), rules=rules, duration_ms=duration_ms
        )
        found.append((period, latest))
    return found
