"""A straight line through sessions. References: statistics.md, section F, cited beside the rows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from devplans.stats.trend import drawn_line, theil_sen

pytestmark = pytest.mark.once


@pytest.mark.parametrize(
    ("xs", "ys", "confidence", "slope", "low", "high", "tolerance"),
    [
        # Sen 1968, as in scipy's tests; F.
        ([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78], 0.93, 4, 26 / 7, 35 / 8, 1e-12),
        # F: the same limits at 95 %.
        ([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78], 0.95, 4, 26 / 7, 35 / 8, 1e-12),
        # F: [0, 1, 1].
        ([0, 1, 2], [0, 1, 1], 0.95, 0.5, 0, 1, 1e-12),
        # F: weeks 1 to 8.
        (range(1, 9), [38, 42, 40, 45, 44, 47, 46, 50], 0.95, 1.5, 0.8, 2.3333, 5e-5),
        # F: two points have an interval without width.
        ([0, 1], [0, 5], 0.95, 5, 5, 5, 1e-12),
    ],
)
def test_published_lines(xs, ys, confidence, slope, low, high, tolerance):
    found = theil_sen(xs, ys, confidence=confidence)
    got = (found.slope, found.low, found.high)
    assert got == pytest.approx((slope, low, high), abs=tolerance)


def test_the_intercept_of_sens_own_data():
    """F: 4, where slope and intercept are estimated apart."""
    assert theil_sen([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]).intercept == 4


@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 100)), min_size=3, max_size=25).filter(
        lambda pairs: len({x for x, _ in pairs}) > 1
    )
)
@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
def test_the_line_is_scipys(pairs):
    xs, ys = zip(*pairs, strict=True)
    theirs = stats.theilslopes(ys, xs)
    ours = theil_sen(xs, ys)
    assert ours.slope == pytest.approx(theirs.slope, abs=1e-9)
    assert ours.intercept == pytest.approx(theirs.intercept, abs=1e-9)
    # Where ties leave no variance scipy's limits are undefined.
    if theirs.low_slope == theirs.low_slope:
        limits = (theirs.low_slope, theirs.high_slope)
        assert (ours.low, ours.high) == pytest.approx(limits, abs=1e-9)


def test_one_moment_has_no_line():
    assert theil_sen([3, 3], [1, 2]) is None
    assert theil_sen([], []) is None


def test_a_line_is_drawn_from_six_sessions_on_over_what_there_is():
    shares = [None, 0.1, 0.2, None, 0.4, 0.5, 0.6]
    assert drawn_line(shares) is None
    first, last = drawn_line([*shares, 0.7, None])
    assert (first, last) == pytest.approx((0.1, 0.7))


def test_a_line_stays_on_the_scale():
    assert drawn_line([0.0, 0.0, 0.0, 0.1, 0.9, 1.0, 1.0, 1.0])[0] == 0
