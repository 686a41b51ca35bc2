"""Film beside gym. References: statistics.md, section E (and 0), cited beside the rows."""

import random
from itertools import permutations
from math import ceil, comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from devplans.stats import change, together
from devplans.stats.together import Pair, detrended, exact_p, kendall_p, kendall_tau, link

pytestmark = pytest.mark.once

IQ = [106, 100, 86, 101, 99, 103, 97, 113, 112, 110]
TV = [7, 27, 2, 50, 28, 29, 20, 12, 6, 17]


@pytest.mark.parametrize(
    ("xs", "ys", "tau", "tolerance"),
    [
        # Spearman's example data at Wikipedia (IQ and hours of television); E: tau -.1111.
        (IQ, TV, -0.1111, 5e-5),
        # scipy's documentation of kendalltau; E.
        ([12, 2, 1, 12, 2], [1, 4, 7, 1, 0], -0.4714045, 5e-8),
        # E, exact n = 8.
        ([3, 1, 4, 2, 5, 7, 6, 8], [2, 1, 5, 3, 4, 6, 8, 7], 0.7142857, 5e-8),
        # F, weeks 1 to 8 of a rising share.
        (range(8), [38, 42, 40, 45, 44, 47, 46, 50], 0.7857, 5e-5),
    ],
)
def test_tau_of_published_examples(xs, ys, tau, tolerance):
    assert kendall_tau(xs, ys) == pytest.approx(tau, abs=tolerance)


@pytest.mark.parametrize(
    ("xs", "ys", "p", "tolerance"),
    [
        # E: the same Wikipedia data.
        (IQ, TV, 0.7275, 5e-5),
        # E, exact n = 8.
        ([3, 1, 4, 2, 5, 7, 6, 8], [2, 1, 5, 3, 4, 6, 8, 7], 0.0141369, 5e-8),
        # F: weeks 1 to 8.
        (range(8), [38, 42, 40, 45, 44, 47, 46, 50], 0.00551, 5e-6),
    ],
)
def test_exact_p_of_published_examples(xs, ys, p, tolerance):
    assert kendall_p(xs, ys) == pytest.approx(p, abs=tolerance)


def test_the_asymptotic_p_of_the_documentation_is_scipys():
    """E: p .2827455 is asymptotic; with five tied values the orders themselves are counted."""
    xs, ys = [12, 2, 1, 12, 2], [1, 4, 7, 1, 0]
    assert stats.kendalltau(xs, ys).pvalue == pytest.approx(0.2827455, abs=5e-8)
    tau = abs(kendall_tau(xs, ys))
    taus = [abs(kendall_tau(xs, order)) for order in permutations(ys)]
    whole = sum(one >= tau - 1e-12 for one in taus) / len(taus)
    assert kendall_p(xs, ys) == pytest.approx(whole, abs=0.03)


@pytest.mark.parametrize(
    ("count", "least"),
    # E: smallest |tau| with an exact two-sided p <= .05.
    [
        (5, 1), (6, 0.867), (7, 0.714), (8, 0.643), (9, 0.556), (10, 0.511), (11, 0.491),
        (12, 0.455), (13, 0.436), (14, 0.407), (15, 0.390), (16, 0.383), (17, 0.368),
        (18, 0.346), (19, 0.333), (20, 0.326),
    ],
)  # fmt: skip
def test_the_smallest_tau_that_is_no_chance(count, least):
    pairs = comb(count, 2)
    scores = range(pairs % 2, pairs + 1, 2)
    found = min(score for score in scores if exact_p(score, count) <= 0.05)
    assert found / pairs == pytest.approx(least, abs=5e-4)


def test_four_weeks_can_never_show_anything():
    assert exact_p(6, 4) > 0.05


# --- against scipy ---------------------------------------------------------


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=2, max_size=30))
def test_tau_is_scipys(pairs):
    xs, ys = zip(*pairs, strict=True)
    theirs = stats.kendalltau(xs, ys).statistic
    ours = kendall_tau(xs, ys)
    assert (ours is None) == (theirs != theirs)
    assert ours is None or ours == pytest.approx(theirs, abs=1e-12)


@given(st.integers(2, 30).flatmap(lambda n: st.permutations(range(n))))
def test_exact_p_is_scipys(order):
    theirs = stats.kendalltau(range(len(order)), order, method="exact").pvalue
    assert kendall_p(range(len(order)), order) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_p_with_ties_is_what_scipys_permutations_say(seed):
    draw = random.Random(seed)
    xs = [draw.randrange(5) for _ in range(12)]
    ys = [x + draw.randrange(5) for x in xs]
    theirs = stats.permutation_test(
        (ys,),
        lambda order: stats.kendalltau(xs, order).statistic,
        permutation_type="pairings",
        n_resamples=2_000,
        rng=7,
    )
    assert kendall_p(xs, ys) == pytest.approx(theirs.pvalue, abs=0.04)
    assert kendall_p(xs, ys) == kendall_p(xs, ys)


@given(st.lists(st.integers(0, 1000), min_size=3, max_size=30))
def test_the_line_that_is_taken_out_is_scipys(values):
    fit = stats.linregress(range(len(values)), values)
    theirs = [y - fit.intercept - fit.slope * x for x, y in enumerate(values)]
    assert [float(one) for one in detrended(values)] == pytest.approx(theirs, abs=1e-6)


# --- the gate --------------------------------------------------------------


def season(film, gym, *, tried=20, weeks=None) -> list[Pair]:
    numbers = weeks or range(len(film))
    return [
        Pair(week, made, tried, work) for week, made, work in zip(numbers, film, gym, strict=True)
    ]


WAVE = [5, 15, 6, 14, 7, 13, 4, 16, 8, 12, 3, 17, 9, 11]


def test_weeks_that_rise_and_fall_together():
    found = link(season(WAVE[:12], [10 * one for one in WAVE[:12]]))
    assert (found.word, found.weeks, found.left_out) == ("moved together", 12, 0)
    assert found.tau == 1
    assert found.p < 1e-6


def test_more_work_with_a_lower_share_is_no_link():
    found = link(season(WAVE[:12], [200 - 10 * one for one in WAVE[:12]]))
    assert (found.word, found.tau) == ("no visible link", -1)


def test_two_series_that_only_rise_are_no_link():
    """Both climb without a swerve of the one that goes with a swerve of the other."""
    film = [4, 5, 7, 6, 8, 9, 9, 11, 12, 12, 14, 15]
    gym = [20, 21, 40, 62, 80, 99, 122, 139, 161, 180, 201, 220]
    assert stats.kendalltau(film, gym).pvalue < 0.001
    assert link(season(film, gym)).word == "no visible link"


def test_eleven_weeks_are_not_enough():
    found = link(season(WAVE[:11], WAVE[:11]))
    assert (found.word, found.tau, found.p) == ("not enough evidence yet", None, None)
    assert (found.weeks, found.weeks_missing) == (11, 1)


@pytest.mark.parametrize(
    "spoilt", [Pair(11, 9, 19, 50), Pair(11, 0, 0, 50), Pair(11, 12, 20, None)]
)
def test_a_week_with_too_few_chances_or_without_the_other_is_left_out_and_counted(spoilt):
    found = link([*season(WAVE[:11], WAVE[:11]), spoilt])
    assert found.word == "not enough evidence yet"
    assert (found.weeks, found.left_out) == (11, 1)


def test_the_same_work_each_week_shows_nothing():
    found = link(season(WAVE[:12], [100] * 12))
    assert found.word == "not enough evidence yet"
    assert found.is_constant
    assert found.weeks_missing == 0


def test_work_that_grows_by_the_same_each_week_shows_nothing():
    assert link(season(WAVE[:12], [7 + 3 * week for week in range(12)])).is_constant


def test_a_gap_of_weeks_is_no_step_in_the_trend():
    """A straight line over weeks with a gap stays one."""
    weeks = [*range(6), *range(20, 26)]
    assert link(season(WAVE[:12], [5 * week for week in weeks], weeks=weeks)).is_constant


def test_nothing_at_all():
    assert link([]) == together.Link("not enough evidence yet", None, None, 0, 0)


def test_series_of_unequal_length_are_refused():
    with pytest.raises(ValueError, match="zip"):
        kendall_tau([1, 2, 3], [1, 2])


def simulate(weeks: int, runs: int, *, effect: float, film_rise: float, gym_rise: float) -> float:
    """How often film and gym are said to have moved together; 20 chances a week."""
    draw, said = random.Random(7), 0
    for _ in range(runs):
        work = [round(60 + gym_rise * n + draw.gauss(0, 10)) for n in range(weeks)]
        shares = [
            0.4 + film_rise * n + effect * (work[n] - 60 - gym_rise * n) for n in range(weeks)
        ]
        made = [sum(draw.random() < p for _ in range(20)) for p in shares]
        said += link(season(made, work)).word == "moved together"
    return said / runs


def test_two_unrelated_series_that_rise_are_seldom_said_to_move_together():
    """0: 5 % after the trends are taken out, two-sided, one side of which is said. A small sample:
    the long one runs with the soak tests."""
    assert simulate(12, 200, effect=0, film_rise=0.02, gym_rise=2) <= 0.08


@pytest.mark.soak
@pytest.mark.timeout(900)
def test_how_often_a_link_is_said():
    """0: false links 5 %, a true one of 5 points for each 10 reps found in .23 at twelve weeks."""
    for weeks in (12, 20):
        false = simulate(weeks, 800, effect=0, film_rise=0.01, gym_rise=2)
        assert 0.01 <= false <= 0.05, (weeks, false)
    found = simulate(12, 800, effect=0.005, film_rise=0.01, gym_rise=2)
    assert found == pytest.approx(0.23, abs=0.06)


@pytest.mark.parametrize(
    ("before", "after", "pooled"),
    # E, sample size per group (Fleiss, Levin and Paik 2003): 80 % power, two-sided 5 %.
    [
        (0.40, 0.50, 387.34), (0.40, 0.45, 1533.3), (0.40, 0.55, 172.80), (0.40, 0.60, 96.92),
        (0.30, 0.40, 355.94), (0.60, 0.75, 151.87),
    ],
)  # fmt: skip
def test_attempts_that_a_change_takes(before, after, pooled):
    middle, alpha, beta = (before + after) / 2, stats.norm.ppf(0.975), stats.norm.ppf(0.8)
    apart = before * (1 - before) + after * (1 - after)
    least = (alpha * (2 * middle * (1 - middle)) ** 0.5 + beta * apart**0.5) ** 2
    least /= (after - before) ** 2
    assert least == pytest.approx(pooled, abs=0.06)
    if (before, after) == (0.40, 0.50):
        assert ceil(least) == 2 * change.WORTH_OF_TEN_POINTS


@pytest.mark.parametrize(
    ("shots", "icc", "needed"),
    # E: 388 attempts a period, in sessions of so many shots.
    [(25, 0.02, 575), (50, 0.01, 579), (50, 0.02, 769), (50, 0.035, 1054)],
)
def test_attempts_in_sessions_count_for_less(shots, icc, needed):
    effect = change.design_effect([(shots // 2, shots)] * 20, icc)
    assert ceil(2 * change.WORTH_OF_TEN_POINTS * effect) == needed
