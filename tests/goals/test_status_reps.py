"""The word for reps a week: a census of complete weeks."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.goals.status import reps, words
from devplans.goals.status.parts import WORDS, Evidence
from tests.goals.standing import TODAY, facts

pytestmark = pytest.mark.once
MONDAY = date(2026, 10, 5)
RANK = {word: place for place, word in enumerate(reversed(WORDS[:-1]))}


def a_goal(**fields):
    usual = {
        "measure": "reps_per_week", "target": None, "target_reps": 60, "started_on": MONDAY,
        "due_on": MONDAY + timedelta(days=16 * 7 - 1),
    }  # fmt: skip
    return facts(**{**usual, **fields})


def done(*numbers, first=MONDAY):
    return Evidence(reps={first + timedelta(weeks=n): value for n, value in enumerate(numbers)})


# Today is the Wednesday of the tenth week: nine are over, seven are left.
@pytest.mark.parametrize(
    ("numbers", "word"),
    [
        ([60] * 9, "on the way"),
        ([50, 50, 50, 50, 80, 50, 50, 50, 80], "could go either way"),
        ([50] * 9, "behind"),
        ([110] * 9, "met"),
        ([], "behind"),
    ],
)
def test_what_the_weeks_left_would_need_against_what_was_done(numbers, word):
    assert reps.rule(a_goal(), done(*numbers), TODAY).word == word


@pytest.mark.parametrize(
    ("goal", "numbers", "word", "reason"),
    [
        ({"started_on": TODAY - timedelta(days=9)}, [0] * 8 + [90], "not enough evidence yet",
         "few_weeks"),
        ({"due_on": TODAY - timedelta(days=1)}, [60] * 9, "met", "reps_met"),
        ({"due_on": TODAY - timedelta(days=1)}, [59] * 9, "missed", "reps_missed"),
        ({"due_on": TODAY}, [59] * 9, "behind", "reps_no_week_left"),
        ({"life": "paused"}, [59] * 9, "not enough evidence yet", "paused"),
        ({"left_on": TODAY}, [59] * 9, "not enough evidence yet", "left"),
        ({"life": "closed", "closed_on": TODAY}, [59] * 9, "not enough evidence yet",
         "closed_early"),
        ({"life": "draft", "started_on": None}, [], "not enough evidence yet", "draft"),
    ],
)  # fmt: skip
def test_each_edge_has_its_word(goal, numbers, word, reason):
    found = reps.rule(a_goal(**goal), done(*numbers), TODAY)
    assert (found.word, found.reason) == (word, reason)


def test_paused_weeks_do_not_count_against_him_and_may_count_for_him():
    pause = ((MONDAY + timedelta(weeks=2, days=3), MONDAY + timedelta(weeks=4, days=1)),)
    kept = [60, 60, 0, 0, 0, 60, 60, 60, 60]
    found = reps.rule(a_goal(pauses=pause), done(*kept), TODAY)
    assert (found.weeks, found.reps, found.word) == (6, 60, "on the way")
    assert reps.rule(a_goal(), done(*kept), TODAY).weeks == 9
    assert reps.rule(a_goal(pauses=pause), done(*[60] * 9), TODAY).weeks == 9


def test_a_week_that_is_not_over_is_no_week():
    found = reps.rule(a_goal(), done(*[60] * 9, 0), TODAY)
    assert (found.weeks, found.weeks_left, found.a_week) == (9, 7, 60)


WEEKS = st.lists(st.integers(0, 150), max_size=20)
DAYS = st.integers(-60, 200)


@given(
    numbers=WEEKS, more=st.lists(st.integers(0, 50), max_size=20), began=DAYS, due=DAYS,
    life=st.sampled_from(["draft", "live", "paused", "closed"]), target=st.integers(1, 120),
    pause=st.tuples(DAYS, DAYS | st.none()) | st.none(),
)  # fmt: skip
def test_it_never_fails_and_more_reps_never_worsen_the_word(
    numbers, more, began, due, life, target, pause
):
    pauses = ()
    if pause:
        last = None if pause[1] is None else MONDAY + timedelta(days=pause[1])
        pauses = ((MONDAY + timedelta(days=pause[0]), last),)
    goal = a_goal(
        started_on=MONDAY + timedelta(days=began), due_on=MONDAY + timedelta(days=due), life=life,
        closed_on=MONDAY + timedelta(days=due // 2), target_reps=target, pauses=pauses,
    )  # fmt: skip
    before = reps.rule(goal, done(*numbers), TODAY)
    length = max(len(numbers), len(more))
    better = [
        (numbers[n] if n < len(numbers) else 0) + (more[n] if n < len(more) else 0)
        for n in range(length)
    ]
    after = reps.rule(goal, done(*better), TODAY)
    for found in (before, after):
        assert found.word in WORDS
        assert found.reason in words.REASONS
        assert words.sentence(goal, found, TODAY)
    if before.word in RANK and after.word in RANK:
        assert RANK[after.word] >= RANK[before.word]
