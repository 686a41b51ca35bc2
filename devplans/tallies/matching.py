"""Which marks of two coaches mean the same chance. Knows no database."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

# How far apart two people press a key for one chance.
NEAR_MS = 4_000


@dataclass(frozen=True)
class Seen:
    """One chance as one coach saw it. possession: in which it lies, None where none is marked."""

    ms: int
    player: Hashable
    skill: Hashable
    did_it: bool
    possession: Hashable = None


@dataclass(frozen=True)
class Pair:
    """What both saw, or what only one saw: the other side is None then."""

    first: Seen | None
    second: Seen | None

    @property
    def one(self) -> Seen:
        """Whichever is there, the first coach's before the second's."""
        found = self.first or self.second
        if found is None:
            raise ValueError("a pair of nothing")
        return found

    @property
    def is_shared(self) -> bool:
        return self.first is not None and self.second is not None

    @property
    def agrees(self) -> bool:
        return (
            self.first is not None
            and self.second is not None
            and self.first.did_it == self.second.did_it
        )


def match(first: Sequence[Seen], second: Sequence[Seen]) -> list[Pair]:
    """Pairs of marks by time, each mark in one of them.

    Marks go together that are of one player, skill and possession, in their order; where there is
    no possession, and across the end of one, those at most `NEAR_MS` apart. As many as possible are
    paired, and of those ways the one with the least time between them is taken.
    """
    sides: dict[Hashable, tuple[list[Seen], list[Seen]]] = defaultdict(lambda: ([], []))
    for number, marks in enumerate((first, second)):
        for mark in sorted(marks, key=lambda one: one.ms):
            sides[(mark.player, mark.skill)][number].append(mark)
    pairs = [pair for ours, theirs in sides.values() for pair in _aligned(ours, theirs)]
    return sorted(pairs, key=lambda pair: pair.one.ms)


def _fits(ours: Seen, theirs: Seen) -> bool:
    together = ours.possession is not None and ours.possession == theirs.possession
    return together or abs(ours.ms - theirs.ms) <= NEAR_MS


def _aligned(ours: Sequence[Seen], theirs: Sequence[Seen]) -> list[Pair]:
    """The best way to pair two lists in order: (pairs, less time apart) of each rest of both."""
    best = [[(0, 0)] * (len(theirs) + 1) for _row in range(len(ours) + 1)]
    for i in reversed(range(len(ours))):
        for j in reversed(range(len(theirs))):
            ways = [best[i + 1][j], best[i][j + 1]]
            if _fits(ours[i], theirs[j]):
                ways.append(_with(best[i + 1][j + 1], ours[i], theirs[j]))
            best[i][j] = max(ways)
    return _walk(best, ours, theirs)


def _with(rest: tuple[int, int], ours: Seen, theirs: Seen) -> tuple[int, int]:
    return (rest[0] + 1, rest[1] - abs(ours.ms - theirs.ms))


def _walk(
    best: Sequence[Sequence[tuple[int, int]]], ours: Sequence[Seen], theirs: Sequence[Seen]
) -> list[Pair]:
    pairs, i, j = [], 0, 0
    while i < len(ours) and j < len(theirs):
        together = _fits(ours[i], theirs[j])
        if together and best[i][j] == _with(best[i + 1][j + 1], ours[i], theirs[j]):
            pairs.append(Pair(ours[i], theirs[j]))
            i, j = i + 1, j + 1
        elif best[i][j] == best[i + 1][j]:
            pairs.append(Pair(ours[i], None))
            i += 1
        else:
            pairs.append(Pair(None, theirs[j]))
            j += 1
    pairs += [Pair(one, None) for one in ours[i:]]
    return pairs + [Pair(None, one) for one in theirs[j:]]


def table(pairs: Sequence[Pair]) -> list[list[int]]:
    """Rows: the first coach said did it, not yet; columns: the second. Shared chances only."""
    found = [[0, 0], [0, 0]]
    for pair in pairs:
        if pair.first is not None and pair.second is not None:
            found[not pair.first.did_it][not pair.second.did_it] += 1
    return found
