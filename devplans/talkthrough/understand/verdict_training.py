"""Trains what tells the verdict, from written examples. Pure but for the files.

    python -m devplans.talkthrough.understand.verdict_training

reads verdicts.csv and moments-*.csv of fixtures/talk and writes verdict_weights.csv and
verdict_run_weights.csv there; the same examples always give the same weights.
"""

import csv
import random
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.optimize import minimize
from scipy.special import logsumexp

from devplans.talkthrough.understand.skills_learned import Learned, triples
from devplans.talkthrough.understand.verdict import (
    RUN_WEIGHTS,
    WEIGHTS,
    Traits,
    runs_in,
    shares,
    signed,
    traits,
)
from devplans.talkthrough.understand.verdict_examples import VERDICTS, examples
from devplans.talkthrough.understand.written import read

ROUNDS, RATE, SHRINK = 12, 0.25, 0.008
# How far verdicts with fewer examples count for more (0: not, 1: all verdicts count the same).
EVEN = 0.8
# Weights below this say nothing.
LEAST = 0.06
# Runs of words in fewer examples than this say nothing; how far their weights may spread.
FEWEST, SPREAD = 3, 6.0

Numbers = npt.NDArray[np.float64]


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


def trained_runs(rows: Sequence[tuple[str, Sequence[str]]]) -> dict[str, list[float]]:
    """Weights of runs of words, from verdicts and what was said: the likeliest with a penalty on
    squares, found by the method of Liu and Nocedal (1989, Math. Program. 45:503-528)."""
    known = Learned(rows, triples)
    found = [runs_in(known, said) for _, said in rows]
    counts = Counter(name for one in found for name in one)
    names = sorted(name for name, count in counts.items() if count >= FEWEST)
    place = {name: at for at, name in enumerate(names)}
    some = [[(place[name], value) for name, value in one.items() if name in place] for one in found]
    matrix = sparse.csr_matrix(
        (
            [value for one in some for _, value in one],
            [at for one in some for at, _ in one],
            [0, *accumulate(map(len, some))],
        ),
        shape=(len(rows), len(names)),
    )
    right = np.array([[float(verdict == one) for one in VERDICTS] for verdict, _ in rows])
    totals = right.sum(axis=0)
    scale = right @ (len(rows) / (len(VERDICTS) * np.maximum(1.0, totals))) ** EVEN

    def lost(flat: Numbers) -> tuple[float, Numbers]:
        weights = flat.reshape(len(names) + 1, len(VERDICTS))
        sums = matrix @ weights[:-1] + weights[-1]
        logs = sums - logsumexp(sums, axis=1, keepdims=True)
        error = scale[:, None] * (np.exp(logs) - right)
        slope = np.vstack([matrix.T @ error + weights[:-1] / SPREAD, error.sum(axis=0)])
        whole = -float((scale[:, None] * right * logs).sum())
        return whole + float((weights[:-1] ** 2).sum()) / (2 * SPREAD), slope.ravel()

    best = minimize(
        lost, np.zeros((len(names) + 1) * len(VERDICTS)), jac=True, method="L-BFGS-B",
        options={"maxiter": 200},
    )  # fmt: skip
    weights = best.x.reshape(len(names) + 1, len(VERDICTS)).tolist()
    return dict(zip([*names, ""], weights, strict=True))


def write(path: Path, weights: Mapping[str, Sequence[float]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["trait", *VERDICTS])
        for name in sorted(weights):
            row = [f"{one:.2f}" for one in weights[name]]
            if not name or max(map(abs, weights[name])) >= LEAST:
                writer.writerow([name, *row])


def said_examples() -> list[tuple[str, list[str]]]:
    return [(verdict, signed(read(text))) for verdict, text in examples()]


def main() -> None:
    write(WEIGHTS, trained((verdict, traits(read(text))) for verdict, text in examples()))
    write(RUN_WEIGHTS, trained_runs(said_examples()))


if __name__ == "__main__":
    main()
