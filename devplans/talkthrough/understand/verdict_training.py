"""Trains what tells the verdict, from written examples. Pure but for the two files.

    python -m devplans.talkthrough.understand.verdict_training

reads verdicts.csv and moments-*.csv of fixtures/talk and writes verdict_weights.csv there; the same
examples always give the same weights. On moments of a writer left out the verdict was right for
0.76 to 0.82 of them.
"""

import csv
import random
import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from devplans.talkthrough.understand.parts import Cue
from devplans.talkthrough.understand.verdict import VERDICTS, WEIGHTS, Traits, shares, traits
from devplans.talkthrough.understand.words import Word, words_of

EXAMPLES = WEIGHTS.with_name("verdicts.csv")
DID_IT, NOT_YET, ORDER = "did_it", "not_yet", "order"
ROUNDS, RATE, SHRINK = 12, 0.25, 0.008
# How far verdicts with fewer examples count for more (0: not, 1: all verdicts count the same).
EVEN = 0.8
NOT_SAID = re.compile(r"(?:number )?_\w*|[{}]")
# Weights below this say nothing.
LEAST = 0.06


def examples(path: Path = EXAMPLES) -> list[tuple[str, str]]:
    """(verdict, words) as written in the list, and put together as coaches put them together: two
    of a kind, a fault with what to do instead, praise with a "but" before what to do instead."""
    with path.open(encoding="utf-8", newline="") as rows:
        told = [(row["verdict"], row["words"]) for row in csv.DictReader(rows)]
    return [(kind, text) for kind, text in told if kind != ORDER] + mixed(told) + 2 * moments()


def moments(folder: Path = EXAMPLES.parent) -> list[tuple[str, str]]:
    """(verdict, words) of whole moments as coaches might say them; players are left out."""
    found = []
    for path in sorted(folder.glob("moments-*.csv")):
        with path.open(encoding="utf-8", newline="") as rows:
            found += [
                (row["verdict"], NOT_SAID.sub("", row["text"])) for row in csv.DictReader(rows)
            ]
    return found


def mixed(told: list[tuple[str, str]]) -> list[tuple[str, str]]:
    chance = random.Random(11)  # noqa: S311 - only mixes examples
    kinds = {kind: [text for one, text in told if one == kind] for kind in (*VERDICTS, ORDER)}
    orders = kinds[ORDER] or [""]
    made = [(NOT_YET, text) for text in kinds[ORDER]]
    for kind in VERDICTS:
        texts = kinds[kind]
        step = 2 if kind == NOT_YET else 1
        made += [(kind, f"{one} {chance.choice(texts)}") for one in texts[::step]]
    made += [(NOT_YET, f"{text} {chance.choice(orders)}") for text in kinds[NOT_YET][1::2]]
    for text in kinds[DID_IT][::5]:
        order = chance.choice(orders)
        made.append((NOT_YET, f"{text.rstrip('.')}, but {order[:1].lower()}{order[1:]}"))
    return made


def read(text: str) -> list[Word]:
    return words_of([Cue(0, 60 * len(text), text)])


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
