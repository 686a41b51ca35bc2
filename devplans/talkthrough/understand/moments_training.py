"""Trains what cuts a talk into moments and tells whom each is about. Pure.

tests.talkthrough.cutting reads the talks with labels and writes the weights.
"""

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from devplans.talkthrough.understand.moments_decode import (
    MOMENT,
    NOBODY,
    Scored,
    joint,
    runs_of,
    scored,
)
from devplans.talkthrough.understand.moments_links import likely
from devplans.talkthrough.understand.moments_traits import Pieces

ROUNDS, RATE, SHRINK = 6, 0.15, 0.004
LINK_ROUNDS, LINK_RATE, LINK_SHRINK = 10, 0.1, 0.003
# A run with less of a share than this changes nothing.
LEAST_SHARE = 1e-5
# Traits of fewer places than this say nothing.
FEWEST = 3


@dataclass(frozen=True)
class Talk:
    """Pieces, and the moments among them as runs of units [first, last)."""

    found: Pieces
    moments: Sequence[tuple[int, int]]


@dataclass
class _Ready:
    found: Pieces
    runs: list[list[list[str]]]
    spans: dict[int, int]


def trained(talks: Sequence[Talk], rounds: int = ROUNDS) -> dict[str, float]:
    """Weights by trait, by the likelihood of the labels' way to cut; small ones are preferred."""
    counts = Counter(name for one in talks for names in one.found.traits for name in names)
    known = {name for name, count in counts.items() if count >= FEWEST}
    ready = [_ready(one, known) for one in talks]
    weights: dict[str, float] = {}
    sizes: dict[str, float] = {}
    order = random.Random(7)  # noqa: S311 - the order of examples is no secret
    for _ in range(rounds):
        order.shuffle(ready)
        for one in ready:
            pushes = _pushes(weights, one)
            for name, push in pushes.items():
                push -= SHRINK * weights.get(name, 0.0)
                sizes[name] = sizes.get(name, 1.0) + push * push
                weights[name] = weights.get(name, 0.0) + RATE * push / math.sqrt(sizes[name])
    return weights


def _ready(one: Talk, known: set[str]) -> _Ready:
    traits = [[name for name in names if name in known] for names in one.found.traits]
    return _Ready(replace(one.found, traits=traits), runs_of(one.found), dict(one.moments))


def both(one: float, other: float) -> float:
    """log(exp(one) + exp(other))."""
    if one < other:
        one, other = other, one
    return one if other == -math.inf else one + math.log1p(math.exp(other - one))


def _pushes(weights: dict[str, float], one: _Ready) -> dict[str, float]:
    told = scored(weights, one.found, one.runs)
    count = len(told.starts)
    ahead = _ahead(told)
    behind = _behind(told)
    whole = both(ahead[count][NOBODY], ahead[count][MOMENT])
    pushes: dict[str, float] = {}

    def push(side: str, traits: Sequence[str], amount: float) -> None:
        for name in traits:
            key = side + name
            pushes[key] = pushes.get(key, 0.0) + amount

    goes = [0.0] * count
    for first in range(count):
        starts = 0.0
        for before in (NOBODY, MOMENT):
            if ahead[first][before] == -math.inf:
                continue
            share = math.exp(
                ahead[first][before] + told.nobody[first] + behind[first + 1][NOBODY] - whole
            )
            push("n ", one.found.traits[first], -share)
            so_far = ahead[first][before] - whole
            for size, share in _shares(told, behind, first, before, so_far):
                starts += share
                push("r ", one.runs[first][size - 1], -share)
                push("", [joint(before, told.unnamed[first][size - 1])], -share)
                _add(goes, first + 1, first + size, share)
        push("s ", one.found.traits[first], -starts)
    for at, share in enumerate(goes):
        push("g ", one.found.traits[at], -share)
    _right(one, told, push)
    return pushes


def _add(sums: list[float], first: int, last: int, share: float) -> None:
    for at in range(first, last):
        sums[at] += share


def _shares(
    told: Scored, behind: list[list[float]], first: int, before: int, so_far: float
) -> Iterator[tuple[int, float]]:
    """(size, share of all ways to cut) of the runs that begin at `first` and matter."""
    inside = 0.0
    for size in range(1, len(told.whole[first]) + 1):
        if size > 1:
            inside += told.goes[first + size - 1]
        score = so_far + inside + told.run(first, size, before)
        share = math.exp(score + behind[first + size][MOMENT])
        if share >= LEAST_SHARE:
            yield size, share


def _right(one: _Ready, told: Scored, push: Callable[[str, Sequence[str], float], None]) -> None:
    at, before = 0, NOBODY
    traits = one.found.traits
    while at < len(told.starts):
        last = one.spans.get(at)
        if last is None:
            push("n ", traits[at], 1.0)
            at, before = at + 1, NOBODY
            continue
        last = min(last, at + len(told.whole[at]))
        push("s ", traits[at], 1.0)
        push("r ", one.runs[at][last - at - 1], 1.0)
        push("", [joint(before, told.unnamed[at][last - at - 1])], 1.0)
        for inside in range(at + 1, last):
            push("g ", traits[inside], 1.0)
        at, before = last, MOMENT


def _ahead(told: Scored) -> list[list[float]]:
    from devplans.talkthrough.understand.moments_decode import forward

    sums = [[-math.inf, -math.inf] for _ in range(len(told.starts) + 1)]
    sums[0][NOBODY] = 0.0

    def reach(last: int, kind: int, first: int, before: int, score: float) -> None:
        sums[last][kind] = both(sums[last][kind], score)

    forward(told, lambda at, before: sums[at][before], reach)
    return sums


def _behind(told: Scored) -> list[list[float]]:
    count = len(told.starts)
    sums = [[-math.inf, -math.inf] for _ in range(count + 1)]
    sums[count] = [0.0, 0.0]
    for first in range(count - 1, -1, -1):
        for before in (NOBODY, MOMENT):
            total = told.nobody[first] + sums[first + 1][NOBODY]
            inside = 0.0
            for size in range(1, len(told.whole[first]) + 1):
                if size > 1:
                    inside += told.goes[first + size - 1]
                score = inside + told.run(first, size, before) + sums[first + size][MOMENT]
                total = both(total, score)
            sums[first][before] = total
    return sums


def linked(
    rows: Sequence[tuple[Sequence[str], bool]], rounds: int = LINK_ROUNDS
) -> dict[str, float]:
    """Weights of what tells whether a moment is about a player, from traits and whether it is."""
    counts = Counter(name for traits, _ in rows for name in traits)
    known = {name for name, count in counts.items() if count >= FEWEST}
    kept = [([name for name in traits if name in known], right) for traits, right in rows]
    weights = dict.fromkeys(sorted(known), 0.0)
    sizes = dict.fromkeys(known, 1.0)
    order = random.Random(7)  # noqa: S311 - the order of examples is no secret
    for _ in range(rounds):
        order.shuffle(kept)
        for traits, right in kept:
            error = right - likely(weights, traits)
            for name in traits:
                push = error - LINK_SHRINK * weights[name]
                sizes[name] += push * push
                weights[name] += LINK_RATE * push / math.sqrt(sizes[name])
    return weights
