import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from devplans.stats.forecast import chance_of, makes_needed

pytestmark = pytest.mark.once

DRUG = "Spiegelhalter, Abrams and Myles 2004, drug example"
RECOMPUTED = "scipy.stats.betabinom"


@pytest.mark.parametrize(
    ("needed", "left", "made", "tried", "chance", "source"),
    [
        (35, 50, 70, 100, 0.5433714686, RECOMPUTED),
        (17, 26, 48, 74, 0.5483305065, RECOMPUTED),
        (20, 30, 40, 100, 0.0080210890, RECOMPUTED),
        (35, 50, 0, 0, 16 / 51, "algebra"),
        (1, 10, 0, 10, 0.4761904762, RECOMPUTED),
        (1, 1, 30, 50, 31 / 52, "Laplace's rule of succession"),
        (0, 50, 3, 5, 1.0, "nothing is needed any more"),
        (-3, 50, 3, 5, 1.0, "nothing is needed any more"),
        (51, 50, 3, 5, 0.0, "more is needed than is left"),
        (0, 0, 0, 0, 1.0, "met"),
        (1, 0, 0, 0, 0.0, "missed"),
    ],
)
def test_worked_chances(needed, left, made, tried, chance, source):
    assert chance_of(needed, left, made=made, tried=tried) == pytest.approx(chance, abs=1e-9)


@pytest.mark.parametrize(
    ("needed", "left", "a", "b", "chance"),
    [(15, 20, 9.2, 13.8, 0.0152599205), (25, 40, 24.2, 18.8, 0.3290133844)],
)
def test_the_drug_example(needed, left, a, b, chance):
    """Published as .015 and .329 (Spiegelhalter, Abrams and Myles 2004). Its prior has broken
    numbers, which a design effect can make out of whole ones: 1 + made / effect = a."""
    effect = 10.0
    made, missed = round((a - 1) * effect), round((b - 1) * effect)
    found = chance_of(needed, left, made=made, tried=made + missed, design_effect=effect)
    assert found == pytest.approx(chance, abs=1e-9)


@given(
    st.integers(0, 120).flatmap(lambda left: st.tuples(st.integers(-5, left + 5), st.just(left))),
    st.integers(0, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.floats(1, 6),
)
def test_any_chance_against_scipy(ahead, seen, effect):
    (needed, left), (made, tried) = ahead, seen
    a, b = 1 + made / effect, 1 + (tried - made) / effect
    expected = betabinom.sf(needed - 1, left, a, b)
    found = chance_of(needed, left, made=made, tried=tried, design_effect=effect)
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("sizes", [(-1, 0, 0), (5, 6, 5), (5, -1, 5)])
def test_counts_that_cannot_be_are_refused(sizes):
    left, made, tried = sizes
    with pytest.raises(ValueError, match=r"left|made"):
        chance_of(3, left, made=made, tried=tried)


def test_a_design_effect_under_one_is_refused():
    with pytest.raises(ValueError, match="design effect"):
        chance_of(3, 5, made=3, tried=5, design_effect=0.5)


@pytest.mark.parametrize(
    ("percent", "attempts", "makes"),
    [(55, 100, 55), (7, 100, 7), (14, 50, 7), (28, 100, 28), (56, 50, 28), (70, 33, 24), (0, 9, 0)],
)
def test_makes_needed_are_exact(percent, attempts, makes):
    """With broken numbers 55 % of 100 would be 56: ceil(.55 * 100)."""
    assert makes_needed(percent, attempts) == makes


@pytest.mark.parametrize(("percent", "attempts"), [(101, 5), (-1, 5), (5, -1)])
def test_no_share_is_refused(percent, attempts):
    with pytest.raises(ValueError, match="no share"):
        makes_needed(percent, attempts)
