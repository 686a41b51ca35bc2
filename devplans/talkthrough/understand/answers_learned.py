# ruff: noqa: E501 - lists of words
"""Which stretch of somebody's words says what to do instead, as learned from examples. Pure.

A chain model: every word stands before, in or behind the one stretch, or there is none. What a word
is, what stands next to it, its clause and what the rules (answers.py) say of it weigh; so do the
places where the stretch may begin and end. The weights come from written examples: see
answers_training.py.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from devplans.talkthrough.understand import answers_words as ways
from devplans.talkthrough.understand import written
from devplans.talkthrough.understand.answers import FAIR, STRONG, WEAK, Answer, answers
from devplans.talkthrough.understand.clauses import CLAUSES, PAUSE_MS
from devplans.talkthrough.understand.verdict_words import GROUPS
from devplans.talkthrough.understand.words import Word

WEIGHTS = written.FOLDER / "answer_weights.csv"
# It is told where it is more likely than this that there is any, by the moment's verdict.
LIKELY = {"not_yet": 0.25, "note": 0.3, "did_it": 0.6}

Found = list[tuple[str, float]]
Weights = Mapping[str, float]

_KINDS = {
    "you": "you ye ya y'all yous tha thee u",
    "me": "i we us me",
    "they": "he she they it that this there who somebody everybody nobody him them which these those",
    "be": "is was are were am be been being isn't wasn't weren't aren't ain't",
    "you-are": "you're you've you'd you'll",
    "they-are": "he's she's it's that's they're they've there's here's who's what's he'd she'd they'd",
    "i-am": "i'm i've i'd i'll we're we've we'd we'll let's",
    "have": "has have had hasn't haven't hadn't does did do doesn't didn't",
    "modal": "can could should would must will might may shall gotta need needs want wants ought"
    " got going gonna wanna",
    "not": "not no never don't dinnae can't won't couldn't wouldn't shouldn't cannot without nothing",
    "the": "the a an your his her their my our its thi t' some any both one two three",
    "in": "in on at to of for with by from into onto off over under up down out through across"
    " around behind between against past toward towards inside outside above below low high",
    "and": "and or but then so",
    "when": "when if before after until till while once as because since unless",
    "ask": "what why where which how whose whom",
    "just": "just only really maybe please try always even still now next first instead rather"
    " earlier sooner better",
    "past": "went got came took made gave saw stood ran left let put threw fell lost kept held sat"
    " caught turned found cut hit beat knew thought told said brought lay shot won broke swung"
    " drove stuck slid swept bent flew rose stepped",
}
_KIND = {word: kind for kind, words in _KINDS.items() for word in words.split()}


def _kind(word: str) -> str:
    if word in _KIND:
        return _KIND[word]
    if word.isdigit():
        return "number"
    if word in ways.DO:
        return "nounish" if word in ways.NOUNISH else "do"
    if word in ways.POSTURE:
        return "body"
    return _ending(word)


def _ending(word: str) -> str:
    for ending in ("ing", "ed", "ly", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return "does" if ending == "s" and word[:-1] in ways.DO else ending
    return "ing" if word.endswith("in") and word[:-2] in ways.DO else "other"


@dataclass(frozen=True)
class Signs:
    """What bears on each word, place and the whole: (trait, value)."""

    inside: list[Found]  # of word i being in the stretch
    begins: list[Found]  # of the stretch beginning with word i
    ends: list[Found]  # of the stretch ending before word i (1..n)
    whole: Found  # of there being a stretch


def signs(words: Sequence[Word]) -> Signs:
    count = len(words)
    tokens = ["#" if word.folded.isdigit() else word.folded for word in words]
    padded = ["^", "^", *tokens, "$", "$", "$"]
    kinds = ["^", "^", *(_kind(token) for token in tokens), "$", "$", "$"]
    breaks = [_break(words, at) for at in range(count + 1)]
    ruled = _ruled(words)
    inside: list[Found] = []
    begins: list[Found] = []
    ends: list[Found] = []
    clause = _clauses(words, tokens, kinds[2:-3], breaks)
    for at in range(count):
        i = at + 2
        w0, w1, b1 = padded[i], padded[i + 1], padded[i - 1]
        k0, k1, c1 = kinds[i], kinds[i + 1], kinds[i - 1]
        own: Found = [
            (f"w{w0}", 0.6), (f"w+{w1}", 0.3), (f"w-{b1}", 0.3), (f"ww{w0} {w1}", 0.6),
            (f"k{c1} {k0} {k1}", 0.4), (f"k{k0}", 0.4), (f"r{ruled[at]}", 0.5),
        ]  # fmt: skip
        own += clause[at]
        inside.append(own)
        begins.append(_place("b", padded, kinds, breaks, i, count))
        begins[-1] += [
            (f"br{ruled[at]} {ruled[at - 1] if at else '^'}", 1.0),
            (f"bat{min(4, 5 * at // max(1, count))}", 0.5),
        ]
    for at in range(1, count + 1):
        found = _place("e", padded, kinds, breaks, at + 2, count)
        after = ruled[at] if at < count else "$"
        found.append((f"er{ruled[at - 1]} {after}", 1.0))
        ends.append(found)
    return Signs(inside, begins, ends, _whole(tokens, words))


def _place(
    side: str, padded: list[str], kinds: list[str], breaks: list[str], i: int, count: int
) -> Found:
    """Traits of the place before the word padded[i]."""
    sign = breaks[i - 2]
    w0, w1, w2, b1, b2 = padded[i], padded[i + 1], padded[i + 2], padded[i - 1], padded[i - 2]
    k0, k1, k2, c1, c2 = kinds[i], kinds[i + 1], kinds[i + 2], kinds[i - 1], kinds[i - 2]
    found: Found = [
        (side, 1.0), (f"{side}s{sign}", 1.0), (f"{side}w{w0}", 1.0), (f"{side}ww{w0} {w1}", 1.0),
        (f"{side}www{w0} {w1} {w2}", 0.7), (f"{side}p{b1}", 0.7), (f"{side}pw{b1} {w0}", 0.7),
        (f"{side}pp{b2} {b1}", 0.4), (f"{side}sk{sign} {k0}", 1.0), (f"{side}sw{sign} {w0}", 0.7),
        (f"{side}kk{sign} {k0} {k1}", 0.8), (f"{side}kkk{k0} {k1} {k2}", 0.6),
        (f"{side}ck{c1} {k0}", 0.7), (f"{side}ckk{c1} {k0} {k1}", 0.6), (f"{side}cck{c2} {c1} {k0}", 0.5),
    ]  # fmt: skip
    if w0 != "$" and CLAUSES.match(f"{w0} {w1} {w2}"):
        found.append((f"{side}clause{sign}", 1.0))
    if w0 != "$" and ways.WISH.match(f"{w0} {w1} {w2} {padded[min(i + 3, len(padded) - 1)]}"):
        found.append((f"{side}wish", 1.0))
    return found


def _break(words: Sequence[Word], at: int) -> str:
    """What stands before word `at`."""
    if at == 0:
        return "^"
    if at == len(words):
        return "?$" if "?" in words[-1].after else "$"
    after = words[at - 1].after
    if "?" in after:
        return "?"
    if words[at - 1].ends_sentence:
        return "."
    if any(sign in after for sign in ",;:–—"):
        return ","
    return "|" if words[at].gap_ms > PAUSE_MS else ""


def _ruled(words: Sequence[Word]) -> list[str]:
    told = ["0"] * len(words)
    for one in answers(words):
        name = "3" if one.strength >= STRONG else "2" if one.strength >= FAIR else "1"
        if one.strength >= WEAK:
            told[one.first : one.last] = [name] * (one.last - one.first)
    return told


def _clauses(
    words: Sequence[Word], tokens: Sequence[str], kinds: Sequence[str], breaks: Sequence[str]
) -> list[Found]:
    """Traits of the clause that each word stands in; all its words together count once."""
    starts = [0] if tokens else []
    for at in range(1, len(tokens)):
        text = " ".join(tokens[at : at + 5])
        if breaks[at] or (at - starts[-1] > 1 and CLAUSES.match(text)):
            starts.append(at)
    made: list[Found] = []
    before = "^"
    for first, last in zip(starts, [*starts[1:], len(tokens)], strict=True):
        share = 1.5 / (last - first)
        k0 = kinds[first]
        k1 = kinds[first + 1] if first + 1 < last else "$"
        has = set(kinds[first:last])
        subject = bool(has & {"you", "me", "they", "you-are", "they-are", "i-am"})
        finite = bool(has & {"be", "have", "past", "ed", "does", "you-are", "they-are", "i-am"})
        modal = "modal" in has
        question = "?" in words[last - 1].after
        found: Found = [
            (f"c{tokens[first]}", share), (f"c{' '.join(tokens[first : first + 2])}", share),
            (f"ck{k0} {k1}", share), (f"csf{subject:d}{finite:d}{modal:d}", share),
            (f"csfs{subject:d}{finite:d}{modal:d}{breaks[first]}{breaks[last]}", share),
            (f"cn{min(8, last - first)} {finite:d}", share),
            (f"cb{before} {k0}", share), (f"cq{question:d}", share),
        ]  # fmt: skip
        found += [(f"ch{kind}", share) for kind in sorted(has)]
        if k0 == "and" and first + 1 < last:
            found.append((f"c&{tokens[first + 1]}", share))
        before = f"{subject:d}{finite:d}"
        made += [found] * (last - first)
    return made


def _whole(tokens: Sequence[str], words: Sequence[Word]) -> Found:
    share = 2.0 / math.sqrt(max(12, len(tokens)))
    text = " ".join(tokens)
    found: Found = [(f"a{token}", share) for token in sorted(set(tokens))]
    found += [(f"aa{one} {two}", share) for one, two in pairwise(tokens)]
    found += [(f"ag{name}", 1.0) for name, pattern in GROUPS.items() if pattern.search(text)]
    if any("?" in word.after for word in words):
        found.append(("a?", 1.0))
    return found


def weighed(weights: Weights, found: Found) -> float:
    return sum(weights[name] * value for name, value in found if name in weights)


@dataclass(frozen=True)
class Sums:
    """Logarithms: of what each word adds when inside, of each begin and end."""

    inside: list[float]
    begins: list[float]
    ends: list[float]


def sums(weights: Weights, told: Signs) -> Sums:
    whole = weighed(weights, told.whole)
    return Sums(
        [weighed(weights, one) for one in told.inside],
        [weighed(weights, one) + whole for one in told.begins],
        [weighed(weights, one) for one in told.ends],
    )


def both(one: float, two: float) -> float:
    """log(exp one + exp two)"""
    high, low = (one, two) if one > two else (two, one)
    return high if low - high < -40 else high + math.log1p(math.exp(low - high))


def total(told: Sums) -> float:
    """The logarithm of all stretches' weight together; that of none is 0."""
    running = whole = -math.inf
    for inside, begins, ends in zip(told.inside, told.begins, told.ends, strict=True):
        running = both(running, begins) + inside
        whole = both(whole, running + ends)
    return whole


def best(told: Sums) -> tuple[int, int]:
    """The likeliest stretch [first, last)."""
    running, since = -math.inf, 0
    most, found = -math.inf, (0, 0)
    for at, inside in enumerate(told.inside):
        if told.begins[at] > running:
            running, since = told.begins[at], at
        running += inside
        if running + told.ends[at] > most:
            most, found = running + told.ends[at], (since, at + 1)
    return found


def stretch(words: Sequence[Word], weights: Weights | None = None) -> tuple[int, int, float]:
    """(first, last, how likely): the likeliest words [first, last) and how likely it is, from 0 to
    1, that any of the words say what to do instead."""
    if not words:
        return 0, 0, 0.0
    told = sums(learned() if weights is None else weights, signs(words))
    return *best(told), 1 / (1 + math.exp(-max(-40.0, min(40.0, total(told)))))


def told(words: Sequence[Word], verdict: str) -> list[Answer]:
    """The stretch that says what to do instead, in a moment with that verdict; [] for none."""
    first, last, likely = stretch(words)
    return [Answer(first, last, likely)] if likely > LIKELY[verdict] else []


@cache
def learned() -> Weights:
    return {row["trait"]: float(row["weight"]) for row in written.rows(WEIGHTS.name)}
