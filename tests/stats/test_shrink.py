import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from devplans.stats.proportions import anova_icc, shrink

pytestmark = pytest.mark.once

HERE = Path(__file__).parent
SQUAD = [(12, 30), (20, 40), (3, 10), (0, 4), (8, 25), (30, 60)]
# Hits of 45 at-bats: Efron and Morris 1975, J. Am. Stat. Assoc. 70:311-319, Table 1.
BATTERS = [
    (hits, 45) for hits in (18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7)
]


def test_a_squad_worked_by_hand():
    found = shrink(SQUAD)
    assert found.mean == pytest.approx(0.4319526627)
    assert found.kappa == 40
    assert found.estimates == pytest.approx(
        (0.4183, 0.4660, 0.4056, 0.3927, 0.3889, 0.4728), abs=5e-5
    )
    assert found.estimates[3] == pytest.approx(0.392684, abs=5e-7)
    assert found.interval(3) == pytest.approx((0.255394, 0.539220), abs=5e-7)
    assert anova_icc(SQUAD) == pytest.approx(0.0159673725, abs=5e-11)
    assert 1 / anova_icc(SQUAD) - 1 == pytest.approx(61.6277, abs=5e-5)


def test_the_batters_of_efron_and_morris():
    """Recomputed from their counts: the analysis-of-variance weight is 372.83, past what a squad
    of children is believed to have in common."""
    assert 1 / anova_icc(BATTERS) - 1 == pytest.approx(372.83, abs=5e-3)
    assert shrink(BATTERS).kappa == 150
    # Their claim: shrunk shares lie nearer to the rest of the season for most.
    rest = [
        0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303,
        0.264, 0.226, 0.285, 0.316, 0.200,
    ]  # fmt: skip
    found = shrink(BATTERS, kappa=368).estimates
    raw = [made / tried for made, tried in BATTERS]
    assert sum((a - b) ** 2 for a, b in zip(found, rest, strict=True)) == pytest.approx(
        0.02182, abs=5e-6
    )
    assert sum((a - b) ** 2 for a, b in zip(raw, rest, strict=True)) == pytest.approx(
        0.07532, abs=5e-6
    )


def test_the_rats_of_bda3():
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.1: 71 groups; recomputed weight.
    with (HERE / "rat_tumors_bda3.csv").open(newline="") as file:
        rats = [(int(row["y"]), int(row["n"])) for row in csv.DictReader(file)]
    assert (sum(made for made, _ in rats), sum(tried for _, tried in rats)) == (267, 1739)
    assert 1 / anova_icc(rats[:70]) - 1 == pytest.approx(21.70, abs=5e-3)
    assert shrink(rats[:70]).kappa == pytest.approx(21.70, abs=5e-3)


def test_until_eight_players_tell_the_usual_weight_holds():
    wide = [(2, 20), (18, 20)] * 3
    assert shrink([*wide, (10, 20), (10, 19)]).kappa == 40
    assert shrink([*wide, (10, 20), (10, 20)]).kappa == 15


def test_edges():
    nothing = shrink([(0, 0), (0, 0)])
    assert (nothing.mean, nothing.estimates) == (None, (None, None))
    assert nothing.interval(1) == (0, 1)
    assert shrink([]).estimates == ()
    alone = shrink([(3, 4)])
    assert (alone.kappa, alone.estimates) == (0, (0.75,))
    # Nobody missed: nothing tells how far players differ.
    assert shrink([(20, 20)] * 9).kappa == 40
    assert shrink([(20, 20)] * 9).estimates == (1.0,) * 9
    # More alike than chance would have them: as much as is ever believed.
    assert anova_icc([(5, 10), (5, 10)]) == pytest.approx(-1 / 9)
    assert shrink([(10, 20)] * 9).kappa == 150
    without = shrink([(6, 20), (0, 0)])
    assert without.estimates[1] == without.mean == pytest.approx(0.3)


@given(
    st.lists(
        st.integers(0, 80).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
        min_size=2,
        max_size=15,
    ),
    st.floats(1, 300),
)
def test_an_estimate_lies_between_the_player_and_the_squad(counts, kappa):
    found = shrink(counts, kappa=kappa)
    if found.mean is None:
        return
    for place, ((made, tried), estimate) in enumerate(zip(counts, found.estimates, strict=True)):
        raw = made / tried if tried else found.mean
        assert min(raw, found.mean) - 1e-12 <= estimate <= max(raw, found.mean) + 1e-12
        if 0 < found.mean < 1:
            a = made + found.mean * kappa
            b = tried - made + (1 - found.mean) * kappa
            assert found.interval(place) == pytest.approx(beta(a, b).interval(0.95), abs=1e-9)


@pytest.mark.parametrize("kappa", [0, -1])
def test_a_weight_of_nothing_is_refused(kappa):
    with pytest.raises(ValueError, match="weight"):
        shrink(SQUAD, kappa=kappa)


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="made must lie"):
        shrink([(3, 2), (1, 4)])
