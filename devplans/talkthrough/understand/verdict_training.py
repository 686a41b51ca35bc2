"""Trains what tells the verdict, from written examples. Pure but for the two files.

    python -m devplans.talkthrough.understand.verdict_training

reads verdicts.csv and moments-*.csv of fixtures/talk and writes verdict_weights.csv there; the same
examples always give the same weights. On moments of a writer left out the verdict was right for
0.76 to 0.82 of them.
"""

import csv
import random
from collections import Counter
from collections.abc import Iterable

from devplans.talkthrough.understand.verdict import WEIGHTS, Traits, shares, traits
from devplans.talkthrough.understand.verdict_examples import VERDICTS, examples
from devplans.talkthrough.understand.written import read

ROUNDS, RATE, SHRINK = 12, 0.25, 0.008
# How far verdicts with fewer examples count for more (0: not, 1: all verdicts count the same).
EVEN = 0.8
# Weights below this say nothing.
LEAST = 0.06


def trained(rows: Iterable[tuple[str, Traits]]) -> dict[str, list[float]]:
    """Weights by trait; those of "" are what all begin with."""
    weights: dict[str, list[float]] = {"": [0.0] * len(VERDICTS)}
    told = [(VERDICTS.index(verdict), found) for verdict, found in rows]
    counts = Counter(right for right, _ in told)
    scale = [
        (len(told) / (len(VERDICTS) * max(1, counts[at]))) ** EVEN for at in range(len(VERDICTS))
    ]
    order = random.Random(7)  # noqa: S311 - the order of examples is no secret
    for turn in range(ROUNDS):
        order.shuffle(told)
        rate = RATE / (1 + turn / 8)
        for right, found in told:
            _learn(weights, right, found, rate * scale[right])
    return weights


def _learn(weights: dict[str, list[float]], right: int, found: Traits, rate: float) -> None:
    told = shares(weights, found)
    for side in range(len(VERDICTS)):
        push = rate * ((side == right) - told[side])
        weights[""][side] += 0.1 * push
        for name, value in found.items():
            own = weights.setdefault(name, [0.0] * len(VERDICTS))
            own[side] += push * value - rate * SHRINK * own[side]


def main() -> None:
    weights = trained((verdict, traits(read(text))) for verdict, text in examples())
    with WEIGHTS.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["trait", *VERDICTS])
        for name in sorted(weights):
            row = [f"{one:.2f}" for one in weights[name]]
            if not name or max(map(abs, weights[name])) >= LEAST:
                writer.writerow([name, *row])


if __name__ == "__main__":
    main()
