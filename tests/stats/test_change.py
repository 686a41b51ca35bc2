import csv
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate
from scipy.stats import beta
from statsmodels.stats.proportion import confint_proportions_2indep

from devplans.stats import change

pytestmark = pytest.mark.once

NEWCOMBE = "Newcombe 1998, Stat. Med. 17:873-890, Table II"
RECOMPUTED = "statsmodels confint_proportions_2indep, method newcomb"

# After, before, their difference, its interval, and where that stands.
INTERVALS = [
    ((56, 70), (48, 80), 0.2000, 0.0524, 0.3339, NEWCOMBE),
    ((6, 7), (2, 7), 0.5714, 0.0582, 0.80625, NEWCOMBE),
    ((5, 56), (0, 29), 0.0893, -0.0381, 0.1926, NEWCOMBE),
    ((0, 10), (0, 10), 0.0, -0.2775, 0.2775, NEWCOMBE),
    ((10, 10), (0, 20), 1.0, 0.6791, 1.0, NEWCOMBE),
    ((10, 10), (0, 10), 1.0, 0.6075, 1.0, NEWCOMBE),
    ((30, 50), (20, 50), 0.20, 0.0046, 0.3752, RECOMPUTED),
    ((12, 20), (8, 20), 0.20, -0.1018, 0.4562, RECOMPUTED),
    ((54, 100), (40, 100), 0.14, 0.0019, 0.2708, RECOMPUTED),
    ((53, 100), (40, 100), 0.13, -0.0080, 0.2612, RECOMPUTED),
    ((55, 100), (40, 100), 0.15, 0.0117, 0.2804, RECOMPUTED),
    ((60, 100), (40, 100), 0.20, 0.0614, 0.3281, RECOMPUTED),
    ((1, 1), (0, 1), 1.0, -0.1221, 1.0, RECOMPUTED),
    ((5, 5), (0, 5), 1.0, 0.3855, 1.0, RECOMPUTED),
]


@pytest.mark.parametrize(("after", "before", "difference", "low", "high", "source"), INTERVALS)
def test_published_intervals(after, before, difference, low, high, source):
    found = change.newcombe_interval(before, after)
    assert found == pytest.approx((low, high), abs=5.5e-5)
    assert found[0] <= difference + 5e-5
    assert difference <= found[1] + 5e-5


@pytest.mark.parametrize(("made", "low", "high"), [(55, -0.0433, 0.3283), (60, 0.0055, 0.3745)])
def test_shots_that_are_alike_widen_the_interval(made, low, high):
    # Two sessions of 50 with an intraclass correlation of .02: 1 + 49 * .02 (Kish 1965).
    effect = change.design_effect([(20, 50), (20, 50)], 0.02)
    assert effect == pytest.approx(1.98)
    found = change.newcombe_interval((40, 100), (made, 100), design_effect=effect)
    assert found == pytest.approx((low, high), abs=5.5e-5)


counts = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(counts, counts)
def test_any_interval_against_statsmodels(before, after):
    expected = confint_proportions_2indep(*after, *before, method="newcomb", compare="diff")
    assert change.newcombe_interval(before, after) == pytest.approx(expected, abs=1e-9)


@given(counts, counts, st.floats(1, 5))
def test_turning_time_round_turns_the_interval_round(before, after, effect):
    low, high = change.newcombe_interval(before, after, design_effect=effect)
    back = change.newcombe_interval(after, before, design_effect=effect)
    assert back == pytest.approx((-high, -low), abs=1e-12)
    plain = change.newcombe_interval(before, after)
    assert low <= plain[0] + 1e-12
    assert high >= plain[1] - 1e-12


def test_without_attempts_there_is_no_interval():
    assert change.newcombe_interval((0, 0), (3, 5)) is None
    assert change.newcombe_interval((3, 5), (0, 0)) is None


@pytest.mark.parametrize("before", [(6, 5), (-1, 5)])
def test_counts_that_cannot_be_are_refused(before):
    with pytest.raises(ValueError, match="made must lie"):
        change.newcombe_interval(before, (3, 5))
    with pytest.raises(ValueError, match="made must lie"):
        change.probability_higher((3, 5), before)
    with pytest.raises(ValueError, match="made must lie"):
        change.claim([(3, 5)], [before])


@pytest.mark.parametrize("effect", [0.99, 0, -1, math.nan])
def test_a_design_effect_under_one_is_refused(effect):
    with pytest.raises(ValueError, match="design effect"):
        change.newcombe_interval((3, 5), (3, 5), design_effect=effect)


# Computed by numerical integration (scipy quad); the formula is of Miller 2015.
HIGHER = [
    ((20, 50), (30, 50), 0.9764263659),
    ((20, 50), (26, 50), 0.8834083781),
    ((8, 20), (12, 20), 0.8916401999),
    ((40, 100), (50, 100), 0.9214262485),
    ((40, 100), (55, 100), 0.9828458862),
    ((0, 5), (5, 5), 0.9989177489),
    ((0, 0), (0, 0), 0.5),
    ((0, 0), (3, 3), 0.8),
    ((0, 5), (0, 5), 0.5),
    ((10, 10), (10, 10), 0.5),
    ((155, 388), (194, 388), 0.9975441149),
]


@pytest.mark.parametrize(("before", "after", "expected"), HIGHER)
def test_probability_of_a_higher_level(before, after, expected):
    assert change.probability_higher(before, after) == pytest.approx(expected, abs=1e-9)


@given(counts, counts)
def test_probability_is_symmetric(before, after):
    """Cook's symmetries of the inequality of two beta variables."""
    found = change.probability_higher(before, after)
    assert 0 <= found <= 1
    assert found == pytest.approx(1 - change.probability_higher(after, before), abs=1e-8)
    missed = [(tried - made, tried) for made, tried in (before, after)]
    assert found == pytest.approx(change.probability_higher(missed[1], missed[0]), abs=1e-8)


@settings(max_examples=25, deadline=None)
@given(counts, counts)
def test_probability_against_an_integral(before, after):
    (x1, n1), (x2, n2) = before, after
    first, second = beta(x1 + 1, n1 - x1 + 1), beta(x2 + 1, n2 - x2 + 1)
    middle = second.mean()
    expected, _ = integrate.quad(
        lambda at: second.pdf(at) * first.cdf(at), 0, 1, points=[middle, first.mean()], limit=200
    )
    assert change.probability_higher(before, after) == pytest.approx(expected, abs=1e-6)


WAFERS = Path(__file__).parent / "nist_pchart_6332.csv"


def test_overdispersion_of_the_wafers():
    # NIST/SEMATECH e-Handbook 6.3.3.2: 30 wafers of 50 chips; X2 = 85.41 on 29 df.
    with WAFERS.open(newline="") as file:
        wafers = [(int(row["defective"]), int(row["n"])) for row in csv.DictReader(file)]
    phi, df = change.overdispersion(wafers)
    assert df == 29
    assert phi * df == pytest.approx(85.41, abs=5e-3)
    assert phi == pytest.approx(2.945, abs=5e-4)
    # 1 + 49 * .03535, the correlation of a fitted beta-binomial.
    assert change.design_effect(wafers, 0.03535) == pytest.approx(2.73, abs=5e-3)


def test_overdispersion_of_two_periods_adds_their_degrees_of_freedom():
    first, second = [(4, 10), (7, 10), (5, 10)], [(8, 20), (14, 20)]
    (one, df_one), (two, df_two) = change.overdispersion(first), change.overdispersion(second)
    both, df = change.overdispersion(first, second)
    assert df == df_one + df_two == 3
    assert both * df == pytest.approx(one * df_one + two * df_two)


@pytest.mark.parametrize(
    "sessions", [[], [(4, 10)], [(0, 10), (0, 5)], [(10, 10), (5, 5)], [(0, 0)] * 4]
)
def test_where_nothing_can_differ_there_is_no_overdispersion(sessions):
    assert change.overdispersion(sessions) == (None, 0)


def test_quasi_binomial_seeds():
    # Crowder 1978, Appl. Stat. 27:34-37: phi of the model with all four cells is 1.861832 on 17 df
    # (Pearson 31.6511). Our estimate is that of a model with one share for each group.
    cells = [
        [(10, 39), (23, 62), (23, 81), (26, 51), (17, 39)],
        [(5, 6), (53, 74), (55, 72), (32, 51), (46, 79), (10, 13)],
        [(8, 16), (10, 30), (8, 28), (23, 45), (0, 4)],
        [(3, 12), (22, 41), (15, 30), (32, 51), (3, 7)],
    ]
    phi, df = change.overdispersion(*cells)
    assert df == 17
    assert phi == pytest.approx(1.861832, abs=5e-7)


def spread(made, tried, sessions):
    """The same totals in equal sessions, as even as whole numbers allow."""
    each, rest = divmod(made, sessions)
    size = tried // sessions
    return [(each + (place < rest), size) for place in range(sessions)]


CLAIMS = [
    # before, after, icc, word
    ((120, 300, 12), (180, 300, 12), 0.02, "up"),
    ((180, 300, 12), (120, 300, 12), 0.02, "down"),
    ((120, 300, 12), (123, 300, 12), 0.02, "not enough evidence yet"),
    ((1200, 3000, 60), (1206, 3000, 60), 0.02, "same"),
    # Fewer than three sessions, fewer than twenty attempts: never a claim.
    ((0, 100, 2), (100, 100, 4), 0.02, "not enough evidence yet"),
    ((0, 100, 4), (100, 100, 2), 0.02, "not enough evidence yet"),
    ((0, 18, 3), (18, 18, 3), 0.0, "not enough evidence yet"),
    ((0, 21, 3), (21, 21, 3), 0.0, "up"),
]


@pytest.mark.parametrize(("before", "after", "icc", "word"), CLAIMS)
def test_what_may_be_said(before, after, icc, word):
    found = change.claim(spread(*before), spread(*after), icc=icc)
    assert found.word == word
    assert found.low <= found.high
    assert (found.word == "not enough evidence yet") or found.more_needed is None


def test_at_forty_percent_a_hundred_attempts_each_show_fourteen_points():
    start = spread(40, 100, 4)
    assert change.claim(start, spread(54, 100, 4), icc=0).word == "up"
    assert change.claim(start, spread(53, 100, 4), icc=0).word == "not enough evidence yet"


def test_a_review_of_five_asks_for_more():
    start, recent = spread(40, 100, 4), spread(55, 100, 4)
    assert change.claim(start, recent, icc=0).word == "up"
    assert change.claim(start, recent, icc=0, confidence=0.99).word == "not enough evidence yet"


def test_without_a_correlation_the_players_own_sessions_tell():
    even = change.claim(spread(40, 100, 4), spread(60, 100, 4))
    rough = change.claim(
        [(2, 25), (18, 25), (3, 25), (17, 25)], [(7, 25), (23, 25), (8, 25), (22, 25)]
    )
    known = change.newcombe_interval((40, 100), (60, 100))
    # Student's t on 6 df in place of the normal quantile, and no effect under 1.
    assert even.low < known[0]
    assert even.high > known[1]
    assert rough.low < even.low
    assert rough.word == "not enough evidence yet"


def test_sessions_that_never_differ_need_a_correlation():
    found = change.claim([(0, 30)] * 3, [(30, 30)] * 3)
    assert found.word == "not enough evidence yet"
    assert change.claim([(0, 30)] * 3, [(30, 30)] * 3, icc=0.02).word == "up"


def test_empty_periods():
    assert change.claim([], []) == change.Claim("not enough evidence yet", None, None, None)
    start = spread(400, 1000, 40)
    found = change.claim(start, [(0, 0)], icc=0.0)
    assert (found.word, found.low, found.high) == ("not enough evidence yet", None, None)
    assert found.more_needed == 241


@given(st.integers(1, 2_000), st.integers(1, 2_000), st.sampled_from([0.0, 0.01, 0.02, 0.035]))
def test_how_many_more_show_ten_points(start, recent, icc):
    """The smallest n2 with n1 * n2 / (n1 + n2) of at least the effect times 194, by trying."""
    before = [(0, 1)] * start if icc == 0 else [(0, 25)] * (start // 25 + 1)
    after = [(0, 1)] * recent if icc == 0 else [(0, 25)] * (recent // 25 + 1)
    found = change.claim(before, after, icc=icc)
    n1, n2 = sum(n for _, n in before), sum(n for _, n in after)
    worth = Fraction(194) * Fraction(change.design_effect([*before, *after], icc))
    if found.word != "not enough evidence yet" or n1 <= worth:
        assert found.more_needed is None
        return
    needed = n2 + found.more_needed
    assert Fraction(n1 * needed, n1 + needed) >= worth * (1 - Fraction(1, 10**9))
    if found.more_needed:
        assert Fraction(n1 * (needed - 1), n1 + needed - 1) < worth


@pytest.mark.soak
@pytest.mark.timeout(600)
def test_five_reviews_of_players_who_do_not_change_and_of_players_who_do():
    """Twelve sessions of 25 a period at 40 %, correlation .02, five reviews against one starting
    period at 1 - .05 / 5: who does not change is seldom ever called up or down, who gains 15 points
    is found. 20,000 players each."""
    chance = np.random.default_rng(20261127)
    players, reviews, sessions, shots, icc = 20_000, 5, 12, 25, 0.02

    def periods(level):
        a = level * (1 / icc - 1)
        skill = chance.beta(a, 1 / icc - 1 - a, size=(players, sessions))
        return chance.binomial(shots, skill).tolist()

    def words(gain):
        start = periods(0.4)
        recent = [periods(0.4 + gain) for _ in range(reviews)]
        return [
            [
                change.claim(
                    [(made, shots) for made in start[player]],
                    [(made, shots) for made in review[player]],
                    icc=icc,
                    confidence=1 - 0.05 / reviews,
                ).word
                for review in recent
            ]
            for player in range(players)
        ]

    unchanged = words(0.0)
    ever = sum(any(word in ("up", "down") for word in one) for one in unchanged) / players
    assert 0.005 < ever <= 0.05
    better = words(0.15)
    assert sum(one[0] == "up" for one in better) / players >= 0.60
    assert sum("up" in one for one in better) / players >= 0.90
    assert not any("down" in one for one in better)
