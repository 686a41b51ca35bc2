"""What a review may say, by statistics C and E."""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from devplans.goals.status import review_words, reviewing
from devplans.stats import change

pytestmark = pytest.mark.once
BEGAN = date(2026, 10, 10)
DAYS = [BEGAN + timedelta(weeks=4 * n) for n in range(1, 6)]
FIRST = reviewing.windows(BEGAN, DAYS)[0]


def say(start, before, after, icc=0.0, measure="drill_share"):
    found = reviewing.compare(start, before, after, icc=icc, confidence=FIRST.confidence)
    return found, review_words.sentence(measure, FIRST, found)


def test_windows_follow_each_other_without_a_gap():
    found = reviewing.windows(BEGAN, DAYS)
    assert [one.number for one in found] == [1, 2, 3, 4, 5]
    assert found[0].first == BEGAN
    for one, following in pairwise(found):
        assert following.first == one.last + timedelta(days=1) == one.on
    assert {one.confidence for one in found} == {0.99}
    assert reviewing.windows(BEGAN, DAYS[:1])[0].confidence == 0.95


def test_up_says_between_what_and_what():
    start = [(8, 20)] * 5
    found, told = say((40, 100), start, [(13, 20)] * 5)
    claim = change.claim(start, [(13, 20)] * 5, icc=0.0, confidence=0.99)
    assert (found.word, found.low, found.high) == ("up", claim.low, claim.high)
    assert told == (
        "Up at the review of 7 November. Between 7 and 41 points better than at the start. "
        "65 of 100 since it began, 40 of 100 at the start."
    )


def test_down_says_it_the_same_way():
    _found, told = say((65, 100), [(13, 20)] * 5, [(8, 20)] * 5)
    assert told.startswith(
        "Down at the review of 7 November. Between 7 and 41 points lower than at the start."
    )


def test_the_same_needs_a_narrow_interval():
    even = [(20, 50)] * 20
    found, told = say((400, 1000), even, even)
    assert found.word == "same"
    assert "Any difference to the start is smaller than 10 points." in told


@pytest.mark.parametrize(
    ("start", "before", "after", "reason", "words"),
    [
        ((160, 400), [(40, 100)] * 4, [(9, 20)] * 4, "more", "About 297 more tries needed"),
        ((8, 20), [(2, 5)] * 4, [(9, 20)] * 4, "small_start", "too small to show it; count afresh"),
        ((8, 20), [(4, 10)] * 2, [(20, 20)] * 9, "small_start", "too small to show it"),
        ((40, 100), [], [(20, 20)] * 9, "typed", "was typed in without its sessions"),
        ((160, 400), [(40, 100)] * 4, [(300, 600)] * 2, "few_sessions", "three are the least"),
        ((8000, 20000), [(400, 1000)] * 20, [(34, 75)] * 3, "between", "none is clear"),
        ((40, 100), [(8, 20)] * 5, [], "nothing", "Nothing was counted since it began."),
        (None, [], [(8, 20)] * 5, "no_start", "There is no starting point to compare with."),
    ],
)
def test_what_is_not_enough_says_why(start, before, after, reason, words):
    found, told = say(start, before, after)
    assert (found.word, found.reason) == ("not enough evidence yet", reason)
    assert told.startswith("Not enough evidence yet at the review of 7 November.")
    assert words in told


@pytest.mark.parametrize(
    ("start", "done", "word"),
    [(30, [40, 42], "up"), (30, [31, 32], "same"), (30, [10, 12], "down"), (0, [0, 0], "same"),
     (30, [], "not enough evidence yet"), (None, [40], "not enough evidence yet")],
)  # fmt: skip
def test_reps_are_held_against_the_start_as_they_are(start, done, word):
    found = reviewing.compare_reps(start, done)
    assert (found.word, found.low, found.high) == (word, None, None)
    assert review_words.sentence("reps_per_week", FIRST, found)
