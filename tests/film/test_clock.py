"""Film time and game clock: whatever a clock did, the window holds the truth."""

import bisect
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.film import clock
from devplans.film.clock import RULE_SETS, ClockError, Rules

pytestmark = pytest.mark.once
FIBA = RULE_SETS["fiba"]
SHORT = Rules(4, 60, 30)


class Game:
    """An invented film of a whole game: stretches in which the clock runs or stands, in ms."""

    def __init__(self, rules, before_ms, stretches):
        self.rules = rules
        self.shown = [(0, 1, rules.length_s(1) * 1000)]
        at, period, left = before_ms, 1, rules.length_s(1) * 1000
        self.shown.append((at, period, left))
        for runs, length in stretches:
            if left == 0:
                # The break; then the board shows the next period.
                at += length
                self.shown.append((at, period, 0))
                period += 1
                left = rules.length_s(period) * 1000
                at += 1
                self.shown.append((at, period, left))
            length = min(length, left) if runs else length
            at, left = at + length, left - (length if runs else 0)
            self.shown.append((at, period, left))
        self.duration_ms = at

    def at(self, ms):
        """(period, milliseconds left) at a film time."""
        index = bisect.bisect_right([row[0] for row in self.shown], ms) - 1
        start, period, left = self.shown[index]
        if index + 1 == len(self.shown):
            return period, left
        end, then_period, then_left = self.shown[index + 1]
        if then_period != period or then_left == left:
            return period, left
        return period, left - (ms - start) * (left - then_left) // (end - start)

    def mark(self, ms):
        period, left = self.at(ms)
        return ms, period, Fraction(left, 1000) if left % 100 else left / 1000


@st.composite
def games(draw):
    stretch = st.tuples(st.booleans(), st.integers(1, 40_000))
    stretches = draw(st.lists(stretch, min_size=4, max_size=40))
    game = Game(SHORT, draw(st.integers(0, 20_000)), stretches)
    moments = st.lists(st.integers(0, game.duration_ms), unique=True, max_size=6)
    marks = [game.mark(ms) for ms in draw(moments)]
    return game, marks, draw(st.integers(0, game.duration_ms))


@given(games(), st.booleans())
def test_the_window_holds_the_truth(made, with_rules):
    game, marks, ms = made
    _, period, left = game.mark(ms)
    known = {"rules": SHORT, "duration_ms": game.duration_ms} if with_rules else {}
    earliest, latest = clock.window(marks, period, left, **known)
    assert 0 <= earliest <= ms <= latest


@given(games(), st.booleans())
def test_the_reading_holds_the_truth(made, with_rules):
    game, marks, ms = made
    reading = clock.at(marks, ms, rules=SHORT if with_rules else None)
    if reading is None:
        assert not marks
        return
    _, period, left = game.mark(ms)
    inside = {mark[1] for mark in marks} == {period}
    if with_rules or inside:
        first = (reading.period, -reading.high_s - 1e-6)
        last = (reading.last_period, -reading.low_s + 1e-6)
        is_past_the_end = period > SHORT.periods and reading.last_period == SHORT.periods
        assert first <= (period, -float(left))
        assert is_past_the_end or (period, -float(left)) <= last
    guess = clock.expected(marks, ms, rules=SHORT)
    bounded = clock.at(marks, ms, rules=SHORT)
    assert (bounded.period, -bounded.high_s) <= (guess[0], -guess[1])
    assert (guess[0], -guess[1]) <= (bounded.last_period, -bounded.low_s)


@given(games())
def test_true_marks_are_never_refused(made):
    game, marks, _ms = made
    clock.check_marks(marks, rules=SHORT, duration_ms=game.duration_ms)


@given(games())
def test_a_window_is_no_wider_than_the_clock_stood(made):
    """Between two marks of one period the width is the time that the clock stood between them."""
    _game, marks, _ms = made
    for (a_ms, a_period, a_left), (b_ms, b_period, b_left) in pairwise(sorted(marks)):
        if a_period != b_period or a_left <= b_left:
            continue
        middle = (Fraction(str(a_left)) + Fraction(str(b_left))) / 2
        earliest, latest = clock.window(marks, a_period, middle)
        stood = b_ms - a_ms - 1000 * (Fraction(str(a_left)) - Fraction(str(b_left)))
        assert stood <= latest - earliest <= stood + 2


MARKS = [(60_000, 1, 590), (180_000, 1, 500), (300_000, 1, 500), (420_000, 1, 400)]


@pytest.mark.parametrize(
    ("period", "clock_s", "told"),
    [
        (1, 550, (100_000, 130_000)),
        (1, 450, (350_000, 370_000)),
        # It stood at 8:20 at both marks; it may have got there 30 s before, and left 20 s after.
        (1, 500, (150_000, 320_000)),
        (1, 595, (0, 55_000)),
        (1, 0, (820_000, 2_000_000)),
        (2, 600, (820_000, 2_000_000)),
        (3, 590, (1_430_000, 2_000_000)),
    ],
)
def test_windows_by_hand(period, clock_s, told):
    assert clock.window(MARKS, period, clock_s, rules=FIBA, duration_ms=2_000_000) == told


def test_other_periods_bound_the_ends_of_one():
    marks = [(100_000, 1, 60), (1_000_000, 2, 500), (3_000_000, 3, 540)]
    # 60 s of the first and 70 of the second have run; from there 30 to its mark.
    assert clock.window(marks, 2, 530, rules=FIBA) == (230_000, 970_000)
    # What is left of the second runs before 60 s of the third do.
    assert clock.window(marks, 2, 100, rules=FIBA) == (1_400_000, 2_840_000)
    # Lengths not known: wider, and still true.
    assert clock.window(marks, 2, 530) == (160_000, 970_000)
    assert clock.window(marks, 2, 100) == (1_400_000, 2_900_000)


def test_a_camera_that_was_off_leaves_the_order():
    marks = [(100_000, 1, 300), (130_000, 2, 540)]
    clock.check_marks(marks, rules=FIBA)
    # Not on the film at all: it was between the two marks.
    assert clock.window(marks, 1, 200, rules=FIBA) == (100_000, 130_000)
    assert clock.window(marks, 2, 600, rules=FIBA) == (100_000, 130_000)
    assert clock.window(marks, 1, 290, rules=FIBA) == (110_000, 130_000)
    assert clock.window(marks, 2, 545, rules=FIBA) == (100_000, 125_000)


def test_without_marks_nothing_is_known():
    assert clock.window([], 1, 300) == (0, clock.FARTHEST_MS)
    assert clock.window([], 1, 300, duration_ms=5_000) == (0, 5_000)
    assert clock.at([], 5_000) is None
    assert clock.label([], 5_000, rules=FIBA) == ""


@pytest.mark.parametrize(
    ("mark", "code"),
    [
        ((-1, 1, 300), "clock.film_time"),
        ((2_000_001, 1, 300), "clock.film_time"),
        ((500_000, 0, 300), "clock.period"),
        ((500_000, 13, 300), "clock.period"),
        ((500_000, 1, -1), "clock.negative"),
        ((30_000, 1, 600.1), "clock.too_long"),
        ((1_900_000, 5, 301), "clock.too_long"),
        ((60_000, 1, 590), "clock.same_moment"),
        ((200_000, 2, 600), "clock.period_order"),
        ((1_500_000, 1, 300), "clock.period_order"),
        ((240_000, 1, 501), "clock.goes_up"),
        ((240_000, 1, 499), "clock.goes_up"),
        ((310_000, 1, 488), "clock.too_fast"),
        ((410_000, 1, 412), "clock.too_fast"),
    ],
)
def test_what_no_clock_does_is_refused(mark, code):
    marks = [*MARKS, (1_400_000, 2, 600)]
    with pytest.raises(ClockError) as refused:
        clock.check_mark(marks, mark, rules=FIBA, duration_ms=2_000_000)
    assert refused.value.code == code


def test_a_board_that_rounds_is_believed():
    clock.check_marks([(10_000, 1, 300), (12_200, 1, 297)], rules=FIBA)
    earliest, latest = clock.window([(10_000, 1, 300), (12_200, 1, 297)], 1, 298)
    assert (earliest, latest) == (11_200, 12_000)


@pytest.mark.parametrize(
    ("rules", "period", "length", "name"),
    [
        ("fiba", 4, 600, "Q4"),
        ("nba", 1, 720, "Q1"),
        ("ncaa", 2, 1_200, "H2"),
        ("nfhs", 3, 480, "Q3"),
        ("fiba", 5, 300, "OT"),
        ("ncaa", 4, 300, "OT2"),
        ("nfhs", 5, 240, "OT"),
    ],
)
def test_lengths_by_rule_set(rules, period, length, name):
    known = RULE_SETS[rules]
    assert (known.length_s(period), known.name(period)) == (length, name)


def test_labels():
    marks = [(60_000, 2, 271), (70_000, 2, 261), (160_000, 2, 231)]
    assert clock.label(marks, 60_000, rules=FIBA) == "Q2 4:31"
    assert clock.label(marks, 65_000, rules=FIBA) == "Q2 4:26"
    assert clock.label(marks, 115_000, rules=FIBA) == "~Q2 4:06"
    assert clock.label([(0, 1, 30), (600_000, 2, 600)], 300_000, rules=FIBA) == "Q1–Q2"
    assert clock.label([(0, 4, 8.4)], 0, rules=FIBA) == "Q4 0:08.4"


def test_where_periods_began():
    marks = [(60_000, 1, 570), (1_500_000, 2, 600), (1_560_000, 2, 545)]
    # The last moment at which each can have begun; the second stood at 10:00 for 5 s at most.
    assert clock.bounds(marks, rules=FIBA) == [(1, 30_000), (2, 1_505_000)]
