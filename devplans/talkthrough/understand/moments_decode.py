"""The likeliest way to cut a talk into moments: a semi-Markov model over its pieces. Pure.

Each piece is about nobody or one of a run of pieces that make a moment; the traits of pieces and of
whole runs are weighed together (Sarawagi and Cohen 2004), and the best way to cut is found by
dynamic programming over places and what the run before was.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.moments_traits import Pieces, Weights, stretch

# What stands before a run: nothing yet or nobody's talk (0), or a moment (1).
NOBODY, MOMENT = 0, 1
APART, BRIEF_WORDS = 6.0, 24


def parted(found: Pieces, first: int, last: int) -> bool:
    """Is this no moment whatever was learned?"""
    if any(one > 1 for one in found.silent[first + 1 : last]):
        return True
    if found.units[last - 1].last - found.units[first].first > BRIEF_WORDS:
        return False
    seen = found.named[first]
    for at in range(first + 1, last):
        keys = found.named[at]
        if keys and seen and not keys & seen and any(found.ruled[first + 1 : at + 1]):
            return True
        seen = seen | keys
    return False


@dataclass
class Scored:
    """Sums of weights. starts, goes, nobody: by unit; whole[first]: of runs that begin there, by
    their length; joins: by what stood before and whether somebody is named in the run."""

    starts: list[float]
    goes: list[float]
    nobody: list[float]
    whole: list[list[float]]
    unnamed: list[list[bool]]
    after: dict[tuple[int, bool], float]

    def run(self, first: int, count: int, before: int) -> float:
        """The score of `count` units from `first` as a moment, without what goes on inside."""
        unnamed = self.unnamed[first][count - 1]
        return self.starts[first] + self.whole[first][count - 1] + self.after[before, unnamed]

    def ahead(self, first: int, last: int) -> float:
        """How far units [first, last) as a moment are ahead of them all being about nobody."""
        inside = math.fsum(self.goes[first + 1 : last])
        return self.run(first, last - first, NOBODY) + inside - math.fsum(self.nobody[first:last])

    def without(self, found: Pieces) -> "Scored":
        """Brief runs about one after another whom rules keep apart, and runs across a long silence,
        are left out: talks to learn from have too few brief moments to tell."""
        for first, sums in enumerate(self.whole):
            for at in range(1, len(sums)):
                if parted(found, first, first + at + 1):
                    sums[at] -= APART
        return self


def joint(before: int, unnamed: bool) -> str:
    return f"after {before} {unnamed}"


def scored(weights: Weights, found: Pieces, runs: Sequence[Sequence[Sequence[str]]]) -> Scored:
    """runs[first][count - 1]: the traits of that run."""
    get = weights.get
    starts, goes, nobody = (
        [math.fsum(get(side + name, 0.0) for name in traits) for traits in found.traits]
        for side in ("s ", "g ", "n ")
    )
    whole = [[sum(get(f"r {name}", 0.0) for name in traits) for traits in of] for of in runs]
    unnamed = [["unnamed" in traits for traits in of] for of in runs]
    after = {
        (before, flag): get(joint(before, flag), 0.0)
        for before in (NOBODY, MOMENT)
        for flag in (False, True)
    }
    return Scored(starts, goes, nobody, whole, unnamed, after)


def runs_of(found: Pieces) -> list[list[list[str]]]:
    return [
        [stretch(found, first, last) for last in range(first + 1, found.longest(first) + 1)]
        for first in range(len(found.units))
    ]


Steps = list[list[tuple[float, int, int]]]


def best(told: Scored) -> list[tuple[int, int, bool]]:
    """(first, last, is a moment) of each run in the likeliest way to cut."""
    count = len(told.starts)
    top = [[-math.inf, -math.inf] for _ in range(count + 1)]
    back: list[list[tuple[int, int]]] = [[(0, 0), (0, 0)] for _ in range(count + 1)]
    top[0][NOBODY] = 0.0

    def reach(last: int, kind: int, first: int, before: int, score: float) -> None:
        if score > top[last][kind]:
            top[last][kind] = score
            back[last][kind] = (first, before)

    forward(told, lambda at, before: top[at][before], reach)
    found: list[tuple[int, int, bool]] = []
    at, kind = count, MOMENT if top[count][MOMENT] > top[count][NOBODY] else NOBODY
    while at:
        first, before = back[at][kind]
        found.append((first, at, kind == MOMENT))
        at, kind = first, before
    return found[::-1]


def forward(
    told: Scored,
    value: Callable[[int, int], float],
    reach: Callable[[int, int, int, int, float], None],
) -> None:
    """Each step once, from the left: reach(last, kind, first, before, score up to there)."""
    for first in range(len(told.starts)):
        for before in (NOBODY, MOMENT):
            so_far = value(first, before)
            if so_far == -math.inf:
                continue
            reach(first + 1, NOBODY, first, before, so_far + told.nobody[first])
            inside = 0.0
            for count in range(1, len(told.whole[first]) + 1):
                if count > 1:
                    inside += told.goes[first + count - 1]
                score = so_far + inside + told.run(first, count, before)
                reach(first + count, MOMENT, first, before, score)
