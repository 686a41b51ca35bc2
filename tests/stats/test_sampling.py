"""Rates from a random sample of possessions: the interval must hold the full count."""

from itertools import product
from random import Random

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from devplans.stats.sampling import ratio_estimate, student_quantile

pytestmark = pytest.mark.once

DRAWS = 2_000
LEAST = 0.93
# How many chances a possession holds: seldom any, none or three at once, all sorts, always one.
HOLDS = {
    "few": ([0, 1, 2], [0.75, 0.2, 0.05]),
    "clustered": ([0, 3], [2 / 3, 1 / 3]),
    "mixed": ([0, 1, 2, 3], [0.35, 0.35, 0.2, 0.1]),
    "one": ([1], [1.0]),
}
# How alike the chances of one possession are: independent, somewhat, all the same.
ALIKE = (0.0, 0.3, 1.0)
FILMS = (40, 60, 80, 110, 150)
SAMPLES = (10, 20, 30, 45, 60)
RATES = (0.1, 0.3, 0.5, 0.7, 0.9)


def invented_film(chance, possessions, rate, holds, alike):
    """(made, chances) of each possession of a film that was counted in full."""
    numbers, weights = HOLDS[holds]
    while True:
        chances = chance.choice(numbers, size=possessions, p=weights)
        if chances.sum():
            break
    if alike == 0:
        rates = np.full(possessions, rate)
    elif alike == 1:
        rates = (chance.random(possessions) < rate).astype(float)
    else:
        tight = 1 / alike - 1
        rates = chance.beta(rate * tight, (1 - rate) * tight, size=possessions)
    return list(zip(chance.binomial(chances, rates).tolist(), chances.tolist(), strict=True))


def coverage(film, sampled, draws, chance):
    """Share of draws whose interval holds the rate of the full count."""
    full = sum(made for made, _ in film) / sum(chances for _, chances in film)
    held = 0
    for _draw in range(draws):
        found = ratio_estimate(chance.sample(film, sampled), possessions=len(film))
        held += found.low - 1e-9 <= full <= found.high + 1e-9
    return held / draws


def coverages(cells, *, films, draws):
    chance = np.random.default_rng(20261109)
    pick = Random(20261109)
    found = {}
    for cell in cells:
        possessions, sampled, rate, holds, alike = cell
        for number in range(films):
            film = invented_film(chance, possessions, rate, holds, alike)
            found[(*cell, number)] = coverage(film, sampled, draws, pick)
    return found


def grid():
    cells = product(FILMS, SAMPLES, RATES, HOLDS, ALIKE)
    return [cell for cell in cells if cell[1] < cell[0]]


HARD = [
    (40, 10, 0.9, "few", 1.0),
    (40, 30, 0.3, "one", 0.3),
    (60, 45, 0.1, "mixed", 0.3),
    (80, 60, 0.9, "mixed", 1.0),
    (150, 45, 0.1, "mixed", 1.0),
    (150, 60, 0.9, "clustered", 1.0),
]


def test_it_holds_the_full_count_where_that_is_hardest():
    found = coverages(HARD, films=1, draws=400)
    assert len(found) == len(HARD)
    assert min(found.values()) >= LEAST, found


@pytest.mark.soak
@pytest.mark.timeout(3_600)
def test_it_holds_the_full_count_in_every_film_of_the_grid():
    found = coverages(grid(), films=1, draws=DRAWS)
    worst = sorted(found.items(), key=lambda one: one[1])[:5]
    mean = sum(found.values()) / len(found)
    print(f"{len(found)} films, {DRAWS} draws each: at least {worst[0][1]:.4f}, mean {mean:.4f}")
    print(worst)
    assert len(found) == len(grid()) > 1_000
    assert [one for one in found.items() if one[1] < LEAST] == []


def test_a_full_sample_is_the_full_count():
    counts = [(1, 2), (0, 0), (2, 2), (0, 1)]
    found = ratio_estimate(counts, possessions=4)
    assert (found.share, found.low, found.high) == (0.6, 0.6, 0.6)
    assert found.is_complete
    assert found.more(20) is None


@pytest.mark.parametrize("made", [0, 1])
def test_all_made_and_all_missed_still_have_width(made):
    found = ratio_estimate([(made, 1)] * 10, possessions=100)
    assert found.share == made
    assert (found.high == 1) if made else (found.low == 0)
    assert found.high - found.low > 0.2


def test_without_a_chance_nothing_is_known():
    found = ratio_estimate([(0, 0)] * 20, possessions=80)
    assert (found.share, found.low, found.high) == (None, 0, 1)
    assert found.more(20) is None


def test_a_single_chance_tells_next_to_nothing():
    found = ratio_estimate([(1, 1), (0, 0)], possessions=80)
    assert found.high - found.low > 0.9


@pytest.mark.parametrize(
    ("counts", "possessions"), [([], 10), ([(0, 0)] * 3, 2), ([(2, 1)], 5), ([(-1, 1)], 5)]
)
def test_what_cannot_be_a_sample_is_refused(counts, possessions):
    with pytest.raises(ValueError, match=r"sample|made"):
        ratio_estimate(counts, possessions=possessions)


def test_the_confidence_and_the_further_possessions_have_their_ranges():
    with pytest.raises(ValueError, match="confidence"):
        ratio_estimate([(1, 1)], possessions=5, confidence=1)
    with pytest.raises(ValueError, match="one more"):
        ratio_estimate([(1, 1)], possessions=5).more(0)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 7, 10, 19, 30, 59, 120, 999])
@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99])
def test_students_quantile_is_that_of_an_independent_library(freedom, confidence):
    theirs = stats.t.ppf(0.5 + confidence / 2, freedom)
    assert student_quantile(confidence, freedom) == pytest.approx(theirs, rel=1e-9)


def test_students_quantile_becomes_the_normal_one():
    assert student_quantile(0.95, 5_000) == pytest.approx(1.959964, abs=1e-6)


possession = st.integers(0, 3).flatmap(
    lambda chances: st.integers(0, chances).map(lambda made: (made, chances))
)


@given(st.lists(possession, min_size=1, max_size=60), st.integers(0, 120))
def test_the_interval_holds_its_share(counts, unseen):
    found = ratio_estimate(counts, possessions=len(counts) + unseen)
    assert 0 <= found.low <= found.high <= 1
    if found.share is not None:
        assert found.low - 1e-12 <= found.share <= found.high + 1e-12
        assert 0 < found.effective <= found.chances + 1e-9
        assert found.answers <= found.holding + 1e-9
    assert found.made == sum(made for made, _ in counts)


@given(st.lists(possession, min_size=1, max_size=40), st.integers(1, 120), st.integers(1, 60))
def test_more_possessions_narrow_it(counts, unseen, more):
    found = ratio_estimate(counts, possessions=len(counts) + unseen)
    assume(found.share is not None)
    low, high = found.more(more)
    assert high - low <= found.high - found.low + 1e-9
    if more >= unseen:
        assert low == high == found.share


def test_more_foretells_what_more_brings():
    """The width to expect after twenty more, against the width that twenty more then have."""
    chance, ratios = Random(5), []
    film = invented_film(np.random.default_rng(5), 120, 0.6, "mixed", 0.3)
    for _draw in range(200):
        drawn = chance.sample(film, 50)
        low, high = ratio_estimate(drawn[:30], possessions=120).more(20)
        after = ratio_estimate(drawn, possessions=120)
        ratios.append((high - low) / (after.high - after.low))
    assert sum(ratios) / len(ratios) == pytest.approx(1, abs=0.05)


@given(st.lists(possession, min_size=1, max_size=40), st.integers(1, 80))
def test_made_and_missed_are_mirrors(counts, unseen):
    there = ratio_estimate(counts, possessions=len(counts) + unseen)
    turned = [(chances - made, chances) for made, chances in counts]
    back = ratio_estimate(turned, possessions=len(counts) + unseen)
    assert there.low == pytest.approx(1 - back.high, abs=1e-9)
    assert there.high == pytest.approx(1 - back.low, abs=1e-9)
