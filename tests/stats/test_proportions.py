import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest
from statsmodels.stats.proportion import proportion_confint

from devplans.stats.proportions import share, wilson_interval

pytestmark = pytest.mark.once

NEWCOMBE_A = "Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3"
NEWCOMBE_B = "Newcombe 1998, Stat. Med. 17:873-890, building block of method 10"
RECOMPUTED = "statsmodels proportion_confint, method wilson"

PUBLISHED = [
    (81, 263, 0.2553, 0.3662, NEWCOMBE_A),
    (0, 20, 0.0, 0.1611, NEWCOMBE_A),
    (1, 29, 0.0061, 0.1718, NEWCOMBE_A),
    (29, 29, 0.8830, 1.0, NEWCOMBE_A),
    (0, 10, 0.0, 0.2775, NEWCOMBE_B),
    (10, 10, 0.7225, 1.0, NEWCOMBE_B),
    (5, 10, 0.2366, 0.7634, RECOMPUTED),
    (3, 3, 0.4385, 1.0, RECOMPUTED),
    (20, 50, 0.2761, 0.5382, RECOMPUTED),
    (50, 100, 0.4038, 0.5962, RECOMPUTED),
    (0, 1, 0.0, 0.7935, RECOMPUTED),
    (1, 1, 0.2065, 1.0, RECOMPUTED),
]

SIX_DIGITS = [  # the same examples, computed to six digits
    (81, 263, 0.255289, 0.366210),
    (0, 20, 0.0, 0.161125),
    (1, 29, 0.006113, 0.171755),
    (29, 29, 0.883030, 1.0),
]


@st.composite
def counts(draw, most=5_000):
    tried = draw(st.integers(1, most))
    return draw(st.integers(0, tried)), tried


@pytest.mark.parametrize(("made", "tried", "low", "high", "source"), PUBLISHED)
def test_published_interval(made, tried, low, high, source):
    assert wilson_interval(made, tried) == pytest.approx((low, high), abs=5e-5), source


@pytest.mark.parametrize(("made", "tried", "low", "high"), SIX_DIGITS)
def test_interval_to_six_digits(made, tried, low, high):
    assert wilson_interval(made, tried) == pytest.approx((low, high), abs=1e-6)


def test_nothing_tried_says_nothing():
    assert wilson_interval(0, 0) == (0.0, 1.0)
    assert share(0, 0) is None


@pytest.mark.parametrize(
    ("tried", "level", "coverage"), [(5, 0.35, 0.946), (10, 0.35, 0.960), (20, 0.9, 0.957)]
)
def test_coverage_at_the_sizes_of_a_shooting_session(tried, level, coverage):
    """Exact enumeration; the textbook interval covers .830, .888 and .876 here."""

    def holds(made):
        low, high = wilson_interval(made, tried)
        return low <= level <= high

    found = sum(binom.pmf(made, tried, level) for made in range(tried + 1) if holds(made))
    assert found == pytest.approx(coverage, abs=6e-4)


@pytest.mark.parametrize("call", [wilson_interval, share])
@pytest.mark.parametrize(("made", "tried"), [(2, 1), (-1, 5), (0, -1), (-3, -2), (1, 0)])
def test_impossible_counts_are_refused(call, made, tried):
    with pytest.raises(ValueError, match="made must lie between 0 and tried"):
        call(made, tried)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, 95, math.nan])
def test_impossible_confidence_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence"):
        wilson_interval(1, 2, confidence=confidence)


@given(counts(), st.sampled_from([0.8, 0.9, 0.95, 0.98, 0.99, 0.999]))
def test_agrees_with_statsmodels_and_scipy(pair, confidence):
    made, tried = pair
    ours = wilson_interval(made, tried, confidence=confidence)
    theirs = proportion_confint(made, tried, alpha=1 - confidence, method="wilson")
    assert ours == pytest.approx(theirs, abs=1e-9)
    exact = binomtest(made, tried).proportion_ci(confidence_level=confidence, method="wilson")
    assert ours == pytest.approx((exact.low, exact.high), abs=1e-9)


@given(counts())
def test_interval_holds_the_share_and_never_closes(pair):
    made, tried = pair
    low, high = wilson_interval(made, tried)
    assert 0 <= low <= share(made, tried) <= high <= 1
    assert low < high
    assert (low == 0) == (made == 0)
    assert (high == 1) == (made == tried)


@given(counts())
def test_misses_mirror_makes(pair):
    made, tried = pair
    low, high = wilson_interval(made, tried)
    assert wilson_interval(tried - made, tried) == pytest.approx((1 - high, 1 - low), abs=1e-12)


@given(counts())
def test_one_more_make_moves_both_ends_up(pair):
    made, tried = pair
    if made < tried:
        before, after = wilson_interval(made, tried), wilson_interval(made + 1, tried)
        assert before[0] < after[0]
        assert before[1] < after[1]


@given(counts(most=500), st.integers(2, 20))
def test_more_attempts_at_the_same_share_narrow_it(pair, times):
    made, tried = pair
    few, many = wilson_interval(made, tried), wilson_interval(made * times, tried * times)
    assert many[1] - many[0] < few[1] - few[0]


@given(counts())
def test_more_confidence_widens_it(pair):
    narrow = wilson_interval(*pair, confidence=0.9)
    wide = wilson_interval(*pair, confidence=0.99)
    assert wide[0] <= narrow[0]
    assert narrow[1] <= wide[1]
    assert wide != narrow
