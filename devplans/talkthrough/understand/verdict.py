# ruff: noqa: SIM905 - lists of words and patterns
"""Did it, not yet, or only a note: what somebody's words say about what a player did. Pure.

Two models vote. Traits of the words (groups of phrases, negation, what comes behind a "but",
questions, the words themselves) are weighed by a softmax model whose weights come from written
examples: see verdict_training.py. And runs of up to three words are compared with the same examples
(skills_learned.py). On moments of a writer left out the two together were right for 0.80 to 0.85 of
them, the first alone for 0.76 to 0.79, the second alone for 0.78 to 0.80.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cache

from devplans.talkthrough.understand import written
from devplans.talkthrough.understand.answers import FAIR, WEAK, answers
from devplans.talkthrough.understand.skills_learned import Learned, triples
from devplans.talkthrough.understand.verdict_examples import VERDICTS, examples
from devplans.talkthrough.understand.verdict_words import GROUPS
from devplans.talkthrough.understand.words import Word

WEIGHTS = written.FOLDER / "verdict_weights.csv"
TURNS = frozenset(["but", "except", "however", "unfortunately", "aber", "mais"])
NEGATIONS = frozenset(
    "not no never nobody nothing isn't aren't wasn't weren't doesn't don't didn't haven't hasn't "
    "can't cannot couldn't wouldn't won't ain't without hardly barely nor neither".split()
)
LITTLE = frozenset("a an the of to is it and in on at that this so i with for".split())
# How far a negation reaches, and how much what stands before a "but" still counts.
REACH = 3
BEFORE_BUT = 0.4
# What is said last weighs again.
LAST_WORDS = 8

# How much the likeness to the examples counts beside the traits; set on writers left out in turn.
RESEMBLED = 0.8
LEAST_SHARE = 1e-9
SIGNS = frozenset(".,?!;")

Traits = dict[str, float]
Weights = Mapping[str, Sequence[float]]


def traits(words: Sequence[Word]) -> Traits:
    """What of the words bears on the verdict, weighted."""
    found: defaultdict[str, float] = defaultdict(float)
    tokens = [word.folded for word in words]
    turn = _last_turn(tokens)
    for part, weight in ((tokens[:turn], BEFORE_BUT), (tokens[turn:], 1.0)):
        text = " ".join(part)
        for name, pattern in GROUPS.items():
            if hits := len(pattern.findall(text)):
                found[f"+{name}"] += weight * min(2.0, 0.6 + 0.4 * hits)
        _plain_words(found, part, weight)
    if turn:
        found["+turn"] = 1.0
    last = " ".join(tokens[-LAST_WORDS:])
    for name, pattern in GROUPS.items():
        if pattern.search(last):
            found[f"+end-{name}"] = 0.5
    _orders(found, words)
    _questions(found, words)
    return dict(found)


def _questions(found: defaultdict[str, float], words: Sequence[Word]) -> None:
    if any("?" in word.after for word in words):
        found["+question"] = 1.0
    if words and "?" in words[-1].after:
        found["+ends-question"] = 1.0


def _last_turn(tokens: Sequence[str]) -> int:
    """Where the last "but" is; what comes behind it counts. 0: nowhere."""
    return next((at for at in range(len(tokens) - 1, 1, -1) if tokens[at] in TURNS), 0)


def _orders(found: defaultdict[str, float], words: Sequence[Word]) -> None:
    told = answers(words)
    if told and told[-1].strength == WEAK and told[-1].last == len(words):
        found["+fragment-last"] = 1.0
    orders = [one for one in told if one.strength > FAIR]
    if orders:
        found["+order"] = max(one.strength for one in orders)
        found["+order-last"] = orders[-1].strength if orders[-1].last == len(words) else 0.0


def _plain_words(found: defaultdict[str, float], part: Sequence[str], weight: float) -> None:
    away = REACH + 1
    scale = weight * 1.6 / math.sqrt(max(12, len(part)))
    before = ""
    for token in part:
        away = 0 if token in NEGATIONS else away + 1
        if token.isdigit() or token in LITTLE:
            continue
        stem = stemmed(token)
        found[f"not {stem}" if 0 < away <= REACH else stem] += scale
        if before:
            found[f"{before}_{stem}"] += scale
        before = stem


def stemmed(token: str) -> str:
    for ending in ("ing", "ed", "ly", "es", "s"):
        if token.endswith(ending) and len(token) - len(ending) >= 3 and "'" not in token:
            return token[: -len(ending)]
    return token


def shares(weights: Weights, found: Traits) -> list[float]:
    """How likely each verdict is, by these weights."""
    sums = list(weights.get("", (0.0,) * len(VERDICTS)))
    for name, value in found.items():
        if own := weights.get(name):
            for side, weight in enumerate(own):
                sums[side] += weight * value
    most = max(sums)
    powers = [math.exp(one - most) for one in sums]
    total = sum(powers)
    return [power / total for power in powers]


@cache
def learned() -> Weights:
    """The weights as trained; the row without a name holds what all begin with."""
    rows = written.rows(WEIGHTS.name)
    return {row["trait"]: [float(row[one]) for one in VERDICTS] for row in rows}


@cache
def resembled() -> Learned:
    """The examples, to compare with."""
    texts = [(verdict, signed(written.read(text))) for verdict, text in examples()]
    return Learned(texts, triples)


def signed(words: Sequence[Word]) -> list[str]:
    """The words and the signs between them, one by one."""
    found: list[str] = []
    for word in words:
        found += [word.folded, *(sign for sign in word.after if sign in SIGNS)]
    return found


def judge(words: Sequence[Word]) -> tuple[str, float]:
    """(verdict, how sure from 0 to 1) of what is said in these words. No words: a note."""
    if not words:
        return "note", 0.0
    alike = resembled().scores(signed(words))
    told = shares(learned(), traits(words))
    sums = [
        math.log(max(share, LEAST_SHARE)) + RESEMBLED * alike[name]
        for name, share in zip(VERDICTS, told, strict=True)
    ]
    powers = [math.exp(one - max(sums)) for one in sums]
    best = max(range(len(VERDICTS)), key=powers.__getitem__)
    return VERDICTS[best], powers[best] / sum(powers)
