"""Agreement of two judges. The published figures are cited beside the rows."""

import warnings
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa

from devplans.stats.agreement import cohen_kappa, kappa_error, kappa_interval, raw_agreement

pytestmark = pytest.mark.once

# table, raw agreement, agreement by chance, kappa, standard error, 95 % interval
PUBLISHED = [
    # Wikipedia, "Cohen's kappa", the two readers of 50 proposals; also in scikit-learn's tests
    ([[20, 5], [10, 15]], 0.70, 0.50, 0.4000, 0.1270, (0.151, 0.649)),
    # Wikipedia, the pair of tables with equal agreement and unequal kappa
    ([[45, 15], [25, 15]], 0.60, 0.54, 0.1304, 0.0987, (-0.063, 0.324)),
    ([[25, 35], [5, 35]], 0.60, 0.46, 0.2593, 0.0772, (0.108, 0.410)),
    # Feinstein and Cicchetti 1990, J. Clin. Epidemiol. 43:543-549: .70 and .32 at equal agreement
    ([[40, 9], [6, 45]], 0.85, 0.5008, 0.6995, 0.0714, (0.560, 0.839)),
    ([[80, 10], [5, 5]], 0.85, 0.78, 0.3182, 0.1335, (0.057, 0.580)),
    # A test fixture of an R package: less than chance
    ([[40, 5], [5, 0]], 0.80, 0.82, -0.1111, None, None),
]


@pytest.mark.parametrize(("table", "raw", "chance", "kappa", "error", "interval"), PUBLISHED)
def test_published_tables(table, raw, chance, kappa, error, interval):
    assert raw_agreement(table) == pytest.approx(raw, abs=5e-5)
    assert cohen_kappa(table) == pytest.approx(kappa, abs=5e-5)
    assert (raw - chance) / (1 - chance) == pytest.approx(kappa, abs=5e-4)
    if error is not None:
        assert kappa_error(table) == pytest.approx(error, abs=6e-5)
        assert kappa_interval(table) == pytest.approx(interval, abs=6e-4)


def test_one_word_only_leaves_kappa_undefined():
    """Recomputed: the usual libraries answer "not a number"."""
    table = [[30, 0], [0, 0]]
    assert raw_agreement(table) == 1
    assert (cohen_kappa(table), kappa_error(table), kappa_interval(table)) == (None, None, None)


def test_complete_agreement_on_both_words():
    """Recomputed: kappa 1, standard error 0."""
    table = [[12, 0], [0, 8]]
    assert (raw_agreement(table), cohen_kappa(table), kappa_error(table)) == (1, 1, 0)
    assert kappa_interval(table) == (1, 1)


def test_nothing_judged_by_both():
    table = [[0, 0], [0, 0]]
    assert (raw_agreement(table), cohen_kappa(table), kappa_interval(table)) == (None, None, None)


def test_each_used_one_word_and_not_the_same():
    table = [[0, 7], [0, 0]]
    assert (raw_agreement(table), cohen_kappa(table)) == (0, 0)


@pytest.mark.parametrize("table", [[[1, 2]], [[1, 2], [3]], [[1, -1], [0, 2]]])
def test_what_is_no_table_is_refused(table):
    with pytest.raises(ValueError, match=r"columns|negative"):
        cohen_kappa(table)


def test_confidence_outside_its_range_is_refused():
    with pytest.raises(ValueError, match="confidence"):
        kappa_interval([[1, 1], [1, 1]], confidence=1)


counts = st.integers(0, 200)
tables = st.integers(2, 4).flatmap(
    lambda size: st.lists(
        st.lists(counts, min_size=size, max_size=size), min_size=size, max_size=size
    )
)


@given(tables)
def test_the_same_as_an_independent_library(table):
    kappa = cohen_kappa(table)
    assume(kappa is not None)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = cohens_kappa(table)
    assert kappa == pytest.approx(theirs.kappa, abs=1e-9)
    assert kappa_error(table) == pytest.approx(max(theirs.var_kappa, 0) ** 0.5, abs=1e-7)
    low, high = kappa_interval(table)
    assert low == pytest.approx(max(-1, theirs.kappa_low), abs=1e-6)
    assert high == pytest.approx(min(1, theirs.kappa_upp), abs=1e-6)


@given(tables)
def test_kappa_keeps_its_bounds_and_does_not_care_who_is_first(table):
    kappa, raw = cohen_kappa(table), raw_agreement(table)
    turned = [list(row) for row in zip(*table, strict=True)]
    assume(kappa is not None)
    assert -1 <= kappa <= 1
    assert kappa <= raw + 1e-12
    assert cohen_kappa(turned) == pytest.approx(kappa)
    low, high = kappa_interval(table)
    assert -1 <= low <= kappa + 1e-12
    assert kappa - 1e-12 <= high <= 1


@given(tables)
def test_more_confidence_is_wider(table):
    assume(cohen_kappa(table) is not None)
    widths = []
    for confidence in (0.5, 0.9, 0.99):
        low, high = kappa_interval(table, confidence=confidence)
        widths.append(high - low)
    assert all(first <= second for first, second in pairwise(widths))
