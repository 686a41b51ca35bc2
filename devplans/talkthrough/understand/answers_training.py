"""Trains what finds the words that say what to do instead. Pure but for the files.

    python -m devplans.talkthrough.understand.answers_training

reads fixtures/talk/moments-*.csv, where that part stands in braces, and writes
fixtures/talk/answer_weights.csv; the same examples always give the same weights.
"""

import csv
import math
import random
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand import written
from devplans.talkthrough.understand.answers_learned import (
    WEIGHTS,
    Found,
    Signs,
    Sums,
    both,
    signs,
    sums,
)
from devplans.talkthrough.understand.words import Word
from devplans.talkthrough.understand.written import read

ROUNDS, RATE, SHRINK = 8, 0.12, 0.002
# Traits of fewer examples than this, and weights below that, say nothing.
FEWEST, LEAST = 2, 0.05


@dataclass(frozen=True)
class Example:
    """Words, and which of them, [first, last), say what to do; none: first == last."""

    words: Sequence[Word]
    first: int
    last: int
    verdict: str = ""


def examples(moments: Iterable[Mapping[str, str]]) -> list[Example]:
    made = []
    for row in moments:
        made.append(example(row["text"], row["verdict"]))
        if made[-1].words and any(word.after for word in made[-1].words[:-1]):
            made.append(example(bare(row["text"]), row["verdict"]))
    return made


def bare(text: str) -> str:
    """As automatic captions write it."""
    return re.sub(r"[^\w'’\-{} ]", " ", text).lower()


def example(text: str, verdict: str = "") -> Example:
    text = re.sub(r"(?<!\w)_\d?", "Xx", text)
    before, _, rest = text.partition("{")
    inside, _, behind = rest.partition("}")
    words = read(before + inside + behind.replace("{", "").replace("}", ""))
    first = len(read(before)) if rest else 0
    return Example(words, first, first + len(read(inside)) if rest else 0, verdict)


@dataclass(frozen=True)
class Indexed:
    signs: Signs
    first: int
    last: int


def trained(told: Sequence[Example]) -> dict[str, float]:
    rows = [Indexed(signs(one.words), one.first, one.last) for one in told if one.words]
    counts = Counter(
        name
        for row in rows
        for name in {
            name
            for found in (*row.signs.inside, *row.signs.begins, *row.signs.ends, row.signs.whole)
            for name, _ in found
        }
    )
    weights = {name: 0.0 for name, count in counts.items() if count >= FEWEST and "xx" not in name}
    rows = [_known(row, weights) for row in rows]
    sizes = dict.fromkeys(weights, 1.0)
    order = random.Random(7)  # noqa: S311 - the order of examples is no secret
    for _ in range(ROUNDS):
        order.shuffle(rows)
        for row in rows:
            _learn(weights, sizes, row)
    return weights


def _known(row: Indexed, weights: dict[str, float]) -> Indexed:
    def kept(found: Found) -> Found:
        return [(name, value) for name, value in found if name in weights]

    told = row.signs
    known = Signs(
        [kept(one) for one in told.inside],
        [kept(one) for one in told.begins],
        [kept(one) for one in told.ends],
        kept(told.whole),
    )
    return Indexed(known, row.first, row.last)


def _learn(weights: dict[str, float], sizes: dict[str, float], row: Indexed) -> None:
    told = sums(weights, row.signs)
    begins, ends, inside = shares(told)
    some = sum(begins)
    if row.last > row.first:
        begins = [(at == row.first) - one for at, one in enumerate(begins)]
        ends = [(at + 1 == row.last) - one for at, one in enumerate(ends)]
        inside = [(row.first <= at < row.last) - one for at, one in enumerate(inside)]
        some = 1.0 - some
    else:
        begins, ends, inside = ([-one for one in side] for side in (begins, ends, inside))
        some = -some
    pushes: dict[str, float] = {}
    pairs = [
        *zip(begins, row.signs.begins, strict=True),
        *zip(ends, row.signs.ends, strict=True),
        *zip(inside, row.signs.inside, strict=True),
        (some, row.signs.whole),
    ]
    for push, found in pairs:
        if abs(push) > 1e-4:
            for name, value in found:
                pushes[name] = pushes.get(name, 0.0) + push * value
    for name, push in pushes.items():
        push -= SHRINK * weights[name]
        sizes[name] += push * push
        weights[name] += RATE * push / math.sqrt(sizes[name])


def shares(told: Sums) -> tuple[list[float], list[float], list[float]]:
    """How likely the stretch begins with each word, ends behind it, holds it."""
    count = len(told.inside)
    forward = [-math.inf] * count  # stretches that hold word i, up to and with it
    running = -math.inf
    for at in range(count):
        running = both(running, told.begins[at]) + told.inside[at]
        forward[at] = running
    backward = [-math.inf] * count  # what comes behind word i, once it is inside
    running = -math.inf
    for at in range(count - 1, -1, -1):
        ahead = running + told.inside[at + 1] if at + 1 < count else -math.inf
        running = both(ahead, told.ends[at])
        backward[at] = running
    whole = 0.0
    for at in range(count):
        whole = both(whole, forward[at] + told.ends[at])
    inside = [math.exp(forward[at] + backward[at] - whole) for at in range(count)]
    ends = [math.exp(forward[at] + told.ends[at] - whole) for at in range(count)]
    begins = [
        math.exp(told.begins[at] + told.inside[at] + backward[at] - whole) for at in range(count)
    ]
    return begins, ends, inside


def main() -> None:
    weights = trained(examples(written.moments()))
    with WEIGHTS.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["trait", "weight"])
        for name in sorted(weights):
            if abs(weights[name]) >= LEAST:
                writer.writerow([name, f"{weights[name]:.2f}"])


if __name__ == "__main__":
    main()
