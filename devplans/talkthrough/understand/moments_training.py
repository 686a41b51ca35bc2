"""Trains what cuts a talk into moments and tells whom each is about. Pure.

tests.talkthrough.cutting reads the talks with labels and writes the weights.
"""

import math
import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import sparse

from devplans.talkthrough.understand.moments_decode import (
    MOMENT,
    NOBODY,
    Scored,
    joint,
    runs_of,
)
from devplans.talkthrough.understand.moments_links import likely
from devplans.talkthrough.understand.moments_traits import Pieces

ROUNDS, RATE, SHRINK = 6, 0.15, 0.004
LINK_ROUNDS, LINK_RATE, LINK_SHRINK = 10, 0.1, 0.003
# A run with less of a share than this changes nothing.
LEAST_SHARE = 1e-5
# Traits of fewer places than this say nothing.
FEWEST = 3
# What may stand before a run, and whether nobody is named in the run.
JOINTS = {(NOBODY, False): 0, (NOBODY, True): 1, (MOMENT, False): 2, (MOMENT, True): 3}

Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Talk:
    """Pieces, and the moments among them as runs of units [first, last)."""

    found: Pieces
    moments: Sequence[tuple[int, int]]


@dataclass
class _Ready:
    """A talk as numbers: which units and runs have which traits, and where the labels cut."""

    units: Any
    runs: Any
    # where the runs that begin with each unit stand among all runs
    places: list[int]
    unnamed: list[list[bool]]
    spans: dict[int, int]


@dataclass
class _Weights:
    """Of traits of a unit that begins a moment, goes on with one, is nobody's; of runs; of what
    stands before a run (JOINTS). steps: sums of squares, by which steps grow small."""

    starts: Numbers
    goes: Numbers
    nobody: Numbers
    whole: Numbers
    after: Numbers
    steps: list[Numbers]

    @classmethod
    def of(cls, units: int, runs: int) -> "_Weights":
        sizes = (units, units, units, runs, len(JOINTS))
        starts, goes, nobody, whole, after = (np.zeros(size) for size in sizes)
        return cls(starts, goes, nobody, whole, after, [np.ones(size) for size in sizes])

    def all(self) -> list[Numbers]:
        return [self.starts, self.goes, self.nobody, self.whole, self.after]


def trained(talks: Sequence[Talk], rounds: int = ROUNDS) -> dict[str, float]:
    """Weights by trait, by the likelihood of the labels' way to cut; small ones are preferred."""
    counts = Counter(name for one in talks for names in one.found.traits for name in names)
    runs = [runs_of(one.found) for one in talks]
    known = sorted(name for name, count in counts.items() if count >= FEWEST)
    of_runs = sorted({name for one in runs for some in one for traits in some for name in traits})
    units = {name: at for at, name in enumerate(known)}
    whole = {name: at for at, name in enumerate(of_runs)}
    ready = [_ready(one, some, units, whole) for one, some in zip(talks, runs, strict=True)]
    weights = _Weights.of(len(units), len(whole))
    order = random.Random(7)  # noqa: S311 - the order of examples is no secret
    for _ in range(rounds):
        order.shuffle(ready)
        for one in ready:
            _learn(weights, one)
    named = {f"r {name}": float(weights.whole[at]) for name, at in whole.items()}
    for side, own in (("s", weights.starts), ("g", weights.goes), ("n", weights.nobody)):
        named |= {f"{side} {name}": float(own[at]) for name, at in units.items()}
    return named | {joint(*one): float(weights.after[at]) for one, at in JOINTS.items()}


def _ready(
    one: Talk,
    runs: Sequence[Sequence[Sequence[str]]],
    units: Mapping[str, int],
    whole: Mapping[str, int],
) -> _Ready:
    return _Ready(
        _counted(one.found.traits, units),
        _counted([traits for some in runs for traits in some], whole),
        [0, *accumulate(len(some) for some in runs)],
        [["unnamed" in traits for traits in some] for some in runs],
        dict(one.moments),
    )


def _counted(rows: Sequence[Sequence[str]], known: Mapping[str, int]) -> Any:
    """Rows of traits as a sparse matrix: how often each row has each known trait."""
    found = [[known[name] for name in names if name in known] for names in rows]
    ends = [0, *accumulate(map(len, found))]
    places = np.array([at for some in found for at in some], dtype=np.int32)
    matrix = sparse.csr_matrix(
        (np.ones(len(places)), places, np.array(ends)), shape=(len(rows), len(known))
    )
    matrix.sum_duplicates()
    return matrix


def _learn(weights: _Weights, one: _Ready) -> None:
    """A step towards what the labels say of one talk."""
    pushes = _pushes(weights, one)
    matrices = (one.units, one.units, one.units, one.runs)
    for own, steps, push, matrix in zip(
        weights.all(), weights.steps, pushes, matrices, strict=False
    ):
        touched = np.unique(matrix.indices)
        push = (matrix.T @ push)[touched] - SHRINK * own[touched]
        steps[touched] += push * push
        own[touched] += RATE * push / np.sqrt(steps[touched])
    push = pushes[-1] - SHRINK * weights.after
    weights.steps[-1] += push * push
    weights.after += RATE * push / np.sqrt(weights.steps[-1])


def _scored(weights: _Weights, one: _Ready) -> Scored:
    whole = (one.runs @ weights.whole).tolist()
    return Scored(
        (one.units @ weights.starts).tolist(),
        (one.units @ weights.goes).tolist(),
        (one.units @ weights.nobody).tolist(),
        [whole[first:last] for first, last in pairwise(one.places)],
        one.unnamed,
        {which: float(weights.after[at]) for which, at in JOINTS.items()},
    )


def both(one: float, other: float) -> float:
    """log(exp(one) + exp(other))."""
    if one < other:
        one, other = other, one
    return one if other == -math.inf else one + math.log1p(math.exp(other - one))


def _pushes(weights: _Weights, one: _Ready) -> list[Numbers]:
    """How far the labels have units, runs and joints more often than the weights expect."""
    told = _scored(weights, one)
    count = len(told.starts)
    ahead = _ahead(told)
    behind = _behind(told)
    whole = both(ahead[count][NOBODY], ahead[count][MOMENT])
    starts, goes, nobody = np.zeros(count), np.zeros(count), np.zeros(count)
    runs, after = np.zeros(one.places[-1]), np.zeros(len(JOINTS))
    for first in range(count):
        for before in (NOBODY, MOMENT):
            so_far = ahead[first][before] - whole
            if so_far == -math.inf:
                continue
            nobody[first] -= math.exp(so_far + told.nobody[first] + behind[first + 1][NOBODY])
            for size, share in _shares(told, behind, first, before, so_far):
                starts[first] -= share
                goes[first + 1 : first + size] -= share
                runs[one.places[first] + size - 1] -= share
                after[JOINTS[before, told.unnamed[first][size - 1]]] -= share
    pushes = [starts, goes, nobody, runs, after]
    _add_labels(pushes, told, one)
    return pushes


def _add_labels(pushes: list[Numbers], told: Scored, one: _Ready) -> None:
    starts, goes, nobody, runs, after = pushes
    at, before = 0, NOBODY
    while at < len(told.starts):
        if (labelled := one.spans.get(at)) is None:
            nobody[at] += 1.0
            at, before = at + 1, NOBODY
            continue
        last = min(labelled, at + len(told.whole[at]))
        starts[at] += 1.0
        goes[at + 1 : last] += 1.0
        runs[one.places[at] + last - at - 1] += 1.0
        after[JOINTS[before, told.unnamed[at][last - at - 1]]] += 1.0
        at, before = last, MOMENT


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
