"""Which skill a squad needs most: worked examples and what must hold for any counts."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.goals.status.alike import squad_icc
from devplans.progress.board.minutes import MOST_MINUTES, Offer, fill, parse, write
from devplans.progress.board.need import Alike, alike, need, quantile
from devplans.stats.change import design_effect
from devplans.stats.proportions import wilson_interval

pytestmark = pytest.mark.once

SURE = Alike(0.0, 1_000)
# NIST handbook 6.3.3.2: 30 wafers of 50 chips; X2 = 85.41 on 29 df.
WAFERS = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9,
          12, 7, 13, 9, 6]  # fmt: skip


@st.composite
def counts(draw, least=3, most=8):
    """Films of one skill with enough chances to say something."""
    tried = draw(st.lists(st.integers(7, 40), min_size=least, max_size=most))
    return [(draw(st.integers(0, n)), n) for n in tried]


def test_films_differ_as_much_as_published_wafers_do():
    found = alike([[(y, 50) for y in WAFERS]])
    assert found.df == 29
    # By the analysis of variance.
    assert found.icc == pytest.approx(0.03958, abs=5e-6)


def test_films_that_are_less_unlike_than_chance_has_it_count_in_full():
    assert alike([[(5, 10), (5, 10), (5, 10)]]) == Alike(0.0, 2)


def test_films_of_one_chance_each_cannot_be_alike():
    assert alike([[(1, 1), (0, 1), (1, 1)]]) == Alike(0.0, 2)


def test_a_squad_s_goals_and_its_next_practice_are_told_by_one_estimator():
    skills = [[(made % 21, 20) for made in range(n, 90, 7)] for n in range(4)]
    found = alike(skills)
    assert found.df >= 30
    assert found.icc == squad_icc(skills)


def test_nothing_tells_how_alike_films_are_where_nothing_varies():
    assert alike([[(10, 10), (9, 9)], [(0, 4)], []]) == Alike(None, 0)


def test_few_films_are_judged_by_student():
    assert quantile(2) == pytest.approx(4.302653, abs=1e-6)
    assert quantile(30) == pytest.approx(1.959964, abs=1e-6)


def test_a_worked_example():
    """4 films of 10 chances, 16 taken, target 70 %; chances of a film no more alike than others."""
    found = need([(4, 10)] * 4, target=0.7, alike=SURE)
    low, high = wilson_interval(16, 40)
    assert (found.made, found.tried, found.films, found.a_film) == (16, 40, 4, 10.0)
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.standing == "below"
    # Wilson's upper end of 16 of 40 is .5540; so at least 10 * (.7 - .5540) are lost a film.
    assert found.lost == pytest.approx(1.46, abs=0.005)


def test_films_that_differ_make_the_interval_wider():
    films = [(1, 10), (8, 10), (2, 10), (9, 10)]
    own = alike([films])
    found = need(films, target=0.8, alike=own)
    low, high = wilson_interval(20, 40)
    assert found.low < low
    assert found.high > high
    assert design_effect(films, own.icc) > 3
    assert (need(films, target=0.8, alike=SURE).standing, found.standing) == ("below", "open")


@pytest.mark.parametrize(
    ("films", "more_tried", "more_films"),
    [
        ([], 20, 3),  # never counted
        ([(0, 0)], 20, 3),  # counted once, never came up
        ([(2, 4)], 16, 4),  # 16 more at 4 a film
        ([(5, 10), (5, 10)], 0, 1),  # chances enough, films not
        ([(2, 4), (2, 4), (2, 4)], 8, 2),  # films enough, chances not
    ],
)
def test_what_is_too_few_is_told_and_never_judged(films, more_tried, more_films):
    found = need(films, target=0.7, alike=SURE)
    assert found.standing == "thin"
    assert (found.low, found.high, found.lost) == (None, None, 0.0)
    assert (found.more_tried, found.more_films) == (more_tried, more_films)


def test_without_a_film_that_differs_one_more_is_asked_for():
    found = need([(10, 10)] * 3, target=0.7, alike=Alike(None, 0))
    assert (found.standing, found.more_films) == ("thin", 1)


def test_a_rare_skill_needs_less_than_one_that_comes_up_all_the_time():
    rare = need([(2, 7)] * 8, target=0.7, alike=SURE)
    often = need([(8, 28)] * 2 + [(8, 28)] * 6, target=0.7, alike=SURE)
    assert often.order < rare.order


@given(counts(), st.data(), st.floats(0.05, 0.95), st.floats(0, 0.3), st.integers(1, 60))
def test_a_worse_count_of_equal_evidence_never_comes_lower(films, data, target, icc, df):
    worse = [(data.draw(st.integers(0, made)), tried) for made, tried in films]
    like = Alike(icc, df)
    mine, theirs = need(films, target=target, alike=like), need(worse, target=target, alike=like)
    assert theirs.order <= mine.order or theirs.order == pytest.approx(mine.order)
    assert not (mine.standing == "below" and theirs.standing != "below")
    assert not (theirs.standing == "there" and mine.standing != "there")


@given(counts(), st.floats(0.05, 0.95), st.floats(0, 0.3), st.integers(1, 60), st.integers(1, 12))
def test_more_of_the_same_never_claims_more_than_was_counted(films, target, icc, df, times):
    like = Alike(icc, df)
    before, after = (need(films * one, target=target, alike=like) for one in (1, times))
    counted = before.a_film * max(0.0, target - before.made / before.tried)
    for found in (before, after):
        assert found.lost <= counted + 1e-9
        assert found.low <= found.made / found.tried <= found.high
    assert after.lost >= before.lost - 1e-9
    assert after.high - after.low <= before.high - before.low + 1e-9


@given(st.lists(counts(), min_size=1, max_size=6))
def test_films_are_never_more_unlike_than_can_be(skills):
    found = alike(skills)
    assert found.icc is None or 0 <= found.icc <= 1
    assert (found.icc is None) == (found.df == 0)


def test_a_squad_that_is_at_its_target_is_seldom_called_below():
    """2,000 skills at 70 %, six films of 15 chances whose level wavers (ICC about .03)."""
    chance = Random(7)
    below = 0
    for _squad in range(400):
        skills = [[a_film(chance, 15) for _film in range(6)] for _skill in range(5)]
        like = alike(skills)
        found = [need(films, target=0.7, alike=like) for films in skills]
        below += sum(one.standing == "below" for one in found)
    assert below / 2_000 <= 0.04


def a_film(chance: Random, tried: int) -> tuple[int, int]:
    """Beta with mean .7 and 1 / (a + b + 1) = .03."""
    level = chance.betavariate(0.7 * 32.3, 0.3 * 32.3)
    return sum(chance.random() < level for _one in range(tried)), tried


# --- minutes -------------------------------------------------------------------------------


def test_drills_of_the_skills_take_turns_and_never_run_over():
    first = [Offer("a", 8, 1), Offer("b", 8, 1)]
    second = [Offer("c", 10, 2), Offer("d", 30, 1), Offer("e", 5, 1)]
    assert fill([first, second], minutes=40, players=10) == [
        ("a", 8),
        ("c", 10),
        ("b", 8),
        ("e", 5),
    ]
    assert fill([first, second], minutes=9, players=10) == [("a", 8)]
    assert fill([[Offer("big", 8, 6)]], minutes=40, players=5) == []


offers = st.builds(Offer, st.from_regex(r"\A[a-z][a-z0-9-]{0,20}\Z"), st.integers(1, 40),
                   st.integers(1, 8))  # fmt: skip


@given(st.lists(st.lists(offers, max_size=5), max_size=6), st.integers(0, 200), st.integers(0, 15))
def test_a_plan_fits_its_minutes_and_survives_its_address(skills, minutes, players):
    plan = fill(skills, minutes=minutes, players=players)
    assert sum(length for _key, length in plan) <= minutes
    assert parse(write(plan)) == plan


@given(st.text(max_size=300))
def test_any_address_is_read_without_a_fault(text):
    assert all(key and 0 < length <= MOST_MINUTES for key, length in parse(text))
