"""Which marks of two coaches mean the same chance."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.tallies.matching import NEAR_MS, Pair, Seen, match, table

pytestmark = pytest.mark.once


def seen(*marks, player="12", possession=None):
    return [Seen(ms, player, "closeout", did_it, possession) for ms, did_it in marks]


def test_marks_near_each_other_go_together():
    pairs = match(seen((1_000, True), (20_000, False)), seen((2_500, True), (19_000, True)))
    assert [(pair.first.ms, pair.second.ms, pair.agrees) for pair in pairs] == [
        (1_000, 2_500, True),
        (20_000, 19_000, False),
    ]
    assert table(pairs) == [[1, 0], [1, 0]]


def test_what_is_too_far_apart_was_seen_by_one():
    pairs = match(seen((1_000, True)), seen((1_000 + NEAR_MS + 1, True)))
    assert [(pair.first is None, pair.second is None) for pair in pairs] == [
        (False, True),
        (True, False),
    ]
    assert table(pairs) == [[0, 0], [0, 0]]


def test_one_possession_holds_them_together_however_far():
    pairs = match(seen((1_000, True), possession=1), seen((20_000, True), possession=1))
    assert [pair.is_shared for pair in pairs] == [True]


def test_a_late_key_across_the_end_of_a_possession_still_fits():
    pairs = match(seen((10_000, True), possession=1), seen((11_500, True), possession=2))
    assert [pair.is_shared for pair in pairs] == [True]


def test_another_player_is_another_chance():
    pairs = match(seen((1_000, True)), seen((1_000, True), player="7"))
    assert [pair.is_shared for pair in pairs] == [False, False]


def test_as_many_as_possible_are_paired():
    """The nearest pair first would leave two alone."""
    pairs = match(seen((0, True), (4_000, True)), seen((3_500, True), (7_500, True)))
    assert [pair.is_shared for pair in pairs] == [True, True]


def test_of_two_ways_the_nearer_one_is_taken():
    pairs = match(seen((5_000, True)), seen((2_000, False), (5_200, True)))
    shared = next(pair for pair in pairs if pair.is_shared)
    assert shared.second.ms == 5_200


def test_a_pair_of_nothing_is_no_pair():
    with pytest.raises(ValueError, match="nothing"):
        _ = Pair(None, None).one


marks = st.lists(
    st.builds(
        Seen,
        st.integers(0, 20_000),
        st.sampled_from(["12", "7"]),
        st.just("closeout"),
        st.booleans(),
        st.sampled_from([None, 1, 2]),
    ),
    max_size=5,
)


def fits(one, other):
    near = abs(one.ms - other.ms) <= NEAR_MS
    same = one.possession is not None and one.possession == other.possession
    return one.player == other.player and (same or near)


def most_in_order(first, second):
    """By trying every choice: how many can be paired without crossing, player by player."""
    total = 0
    for player in ("12", "7"):
        ours = sorted((m for m in first if m.player == player), key=lambda m: m.ms)
        theirs = sorted((m for m in second if m.player == player), key=lambda m: m.ms)
        best = 0
        for size in range(min(len(ours), len(theirs)), 0, -1):
            left = [p for p in permutations(range(len(ours)), size) if list(p) == sorted(p)]
            right = [p for p in permutations(range(len(theirs)), size) if list(p) == sorted(p)]
            if any(
                all(fits(ours[i], theirs[j]) for i, j in zip(a, b, strict=True))
                for a in left
                for b in right
            ):
                best = size
                break
        total += best
    return total


@given(marks, marks)
def test_each_mark_is_in_one_pair_and_no_more_could_be_paired(first, second):
    pairs = match(first, second)
    key = lambda m: (m.ms, m.player, m.did_it, str(m.possession))  # noqa: E731
    assert sorted((p.first for p in pairs if p.first), key=key) == sorted(first, key=key)
    assert sorted((p.second for p in pairs if p.second), key=key) == sorted(second, key=key)
    assert all(fits(pair.first, pair.second) for pair in pairs if pair.is_shared)
    assert sum(pair.is_shared for pair in pairs) == most_in_order(first, second)
    assert sum(map(sum, table(pairs))) == sum(pair.is_shared for pair in pairs)
