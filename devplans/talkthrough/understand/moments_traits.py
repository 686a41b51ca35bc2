"""What each piece of talk, and each stretch of pieces, shows of where moments begin and end. Pure.

A trait is a name; what it weighs is learned (moments_training.py).
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from devplans.talkthrough.understand import roles
from devplans.talkthrough.understand.clauses import SILENCE_MS, is_bare
from devplans.talkthrough.understand.moments_parts import Moment
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.units import GREETING, KIN_FIRST, STORY, TEAM_FIRST, Unit
from devplans.talkthrough.understand.words import Word

GAPS = (120, 250, 330, 450, 900, 2_000, 3_500, 6_000)
TRADES = (0.5, 2.0, 5.0, 9.0)
LENGTHS = (2, 4, 7, 12, 20)
WORDS = (3, 8, 15, 25, 40, 60, 90)
WEIGHTS = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)
LONG_SILENCE_MS = 4_500
# Stretches longer than this are never one moment.
MOST_UNITS, MOST_WORDS = 16, 160
SHE = re.compile(r"\b(?:he|he's|she|she's|him|his|her|hers|he'll|she'll|he'd|she'd)\b")
FIRST_SHE = re.compile(r"(?:\w+ ){0,2}?(?:he|he's|she|she's|his|her|him)\b")
FIRST_YOU = re.compile(r"(?:\w+ ){0,2}?(?:you|you're|you've|your|you'd)\b")
FIRST_WE = re.compile(r"(?:\w+ ){0,2}?(?:we|we're|we've|our|us|they|they're|they've|their)\b")
FIRST_I = re.compile(r"(?:\w+ ){0,1}?(?:i|i'm|i've|my|i'd|i'll)\b")
PRAISE = re.compile(
    r"\b(?:good|great|nice|lovely|beautiful|perfect|brilliant|excellent|love|super|well done"
    r"|better|bravo|textbook|exactly|terrific|fantastic|gorgeous)\b"
)
BLAME = re.compile(
    r"\b(?:no|not|never|nobody|don't|didn't|doesn't|isn't|wasn't|can't|late|too|but|why|instead"
    r"|need|must|should|want|nothing|lost|forgot)\b"
)
Weights = Mapping[str, float]
# Of its words these many, at its beginning, count one by one.
EACH_WORD = 30


def step(value: float, steps: Sequence[float]) -> int:
    return sum(value > one for one in steps)


@dataclass
class Pieces:
    """Units of a talk with what is known of each: its traits, where it begins, who is named."""

    words: Sequence[Word]
    units: Sequence[Unit]
    traits: list[list[str]] = field(default_factory=list)
    named: list[frozenset[str]] = field(default_factory=list)
    silent: list[int] = field(default_factory=list)
    orders: list[bool] = field(default_factory=list)
    personal: list[bool] = field(default_factory=list)
    praise: list[int] = field(default_factory=list)
    ruled: list[bool] = field(default_factory=list)
    # how much the words are of the trade, by unit
    trade: list[float] = field(default_factory=list)
    # what the rules say of players, by unit: "judged", "asked", "carried"
    told: list[dict[str, str]] = field(default_factory=list)

    def longest(self, first: int) -> int:
        """Where a stretch that begins with unit `first` ends at the latest."""
        last = first + 1
        while last < min(len(self.units), first + MOST_UNITS):
            if self.units[last].last - self.units[first].first > MOST_WORDS:
                break
            last += 1
        return last


def pieces(words: Sequence[Word], units: Sequence[Unit], rules: Sequence[Moment]) -> Pieces:
    """rules: the moments as rules would cut them; they are traits among others."""
    found = Pieces(words, units)
    bare = is_bare(words)
    ruled = list(_ruled(rules))
    recent: frozenset[str] = frozenset()
    texts = [" ".join(word.folded for word in words[one.first : one.last]) for one in units]
    for at, unit in enumerate(units):
        keys = unit.keys if unit.weight > roles.OBJECT else frozenset()
        found.named.append(keys)
        silence = step(unit.gap_ms, (SILENCE_MS, LONG_SILENCE_MS)) if at else 0
        found.silent.append(silence)
        found.orders.append(unit.order)
        found.personal.append(unit.personal)
        good, bad = PRAISE.search(texts[at]) is not None, BLAME.search(texts[at]) is not None
        found.praise.append(int(good) - int(bad))
        found.ruled.append(ruled[at][0] == "start")
        traits = [*_of_place(words, units, at, bare=bare), *_of_text(texts[at])]
        traits += _of_names(units, at, recent)
        found.trade.append(Lexicon.load().weight(texts[at].split()))
        trade = step(found.trade[at], TRADES)
        traits += [f"trade {trade}", f"trade {trade} {step(unit.length, LENGTHS)}"]
        rule, about = ruled[at]
        gap = step(unit.gap_ms, GAPS) if at else len(GAPS)
        traits += [f"rule {rule}", f"rule {about}", f"rule {rule} {about} {min(gap, 6)}"]
        found.traits.append(traits)
        recent = keys or recent
    for moment in rules:
        found.told += [_told(moment)] * len(moment.units)
    return found


def _told(moment: Moment) -> dict[str, str]:
    told = {key: "asked" for one in moment.asked for key in one.keys[:1]}
    sure = "carried" if moment.carried else "judged"
    return told | {key: sure for one in moment.judged for key in one.keys[:1]}


def _ruled(rules: Sequence[Moment]) -> Iterator[tuple[str, str]]:
    for moment in rules:
        about = "nobody" if moment.why else "sure" if moment.judged else "asked"
        about = "carried" if moment.carried and moment.judged else about
        for at in range(len(moment.units)):
            yield ("go", about) if at else ("start", about)


def _of_place(
    words: Sequence[Word], units: Sequence[Unit], at: int, *, bare: bool
) -> Iterator[str]:
    unit = units[at]
    gap = step(unit.gap_ms, GAPS) if at else len(GAPS)
    kind = "bare" if bare else "signs"
    yield f"gap {gap}"
    yield f"gap {gap} {kind}"
    yield f"level {unit.level} {gap}"
    yield f"long {step(unit.length, LENGTHS)}"
    if at:
        sign = words[unit.first - 1].after.strip()[:1]
        yield f"sign {sign if not bare else 'bare'}"
        yield f"after {words[unit.first - 1].folded}"
        before = units[at - 1]
        yield f"before order {before.order} {unit.order}"
        yield f"before named {before.named} {unit.named}"
        yield f"before long {step(before.length, LENGTHS)}"
    if at + 1 < len(units):
        yield f"next gap {step(units[at + 1].gap_ms, (120, 450, 2_000, 6_000))}"
    if words[unit.last - 1].after.strip()[:1] == "?":
        yield "asks"


def _of_names(units: Sequence[Unit], at: int, recent: frozenset[str]) -> Iterator[str]:
    unit = units[at]
    who = _who(unit, recent)
    weight = step(unit.weight, WEIGHTS) if unit.named else 0
    yield f"who {who}"
    yield f"who {who} {weight}"
    sure = any(one.sure for one in unit.judged)
    yield f"who {who} sure {sure}"
    if unit.judged:
        far = step(unit.judged[0].first - unit.first, (0, 3, 7))
        yield f"who {who} far {far}"
        yield f"named far {far} {weight}"
        yield f"named kind {unit.judged[0].kind} {sure}"
    yield f"who {who} gap {step(unit.gap_ms, (250, 900, 2_000, 6_000)) if at else 4}"
    if at + 1 < len(units):
        yield f"next {_who(units[at + 1], unit.keys or recent)} {bool(unit.judged)}"
    for name in ("others", "personal", "collective", "order", "turns"):
        if getattr(unit, name):
            yield name
            yield f"{name} {who}"


def _who(unit: Unit, recent: frozenset[str]) -> str:
    if not unit.judged:
        return "beside" if unit.named else "none"
    if unit.weight <= roles.OBJECT:
        return "object"
    if unit.keys <= recent:
        return "same"
    return "part" if unit.keys & recent else "new"


def _of_text(text: str) -> Iterator[str]:
    tokens = text.split()
    yield f"first {tokens[0]}"
    yield f"first {' '.join(tokens[:2])}"
    yield f"last {tokens[-1]}"
    kinds = (
        ("she", FIRST_SHE),
        ("you", FIRST_YOU),
        ("we", FIRST_WE),
        ("i", FIRST_I),
        ("team", TEAM_FIRST),
        ("kin", KIN_FIRST),
    )
    for name, pattern in kinds:
        if pattern.match(text):
            yield f"first {name}"
    for name, pattern in (("greets", GREETING), ("story", STORY), ("some she", SHE)):
        if pattern.search(text):
            yield name
    for token in set(tokens[:EACH_WORD]):
        yield f"says {token}"


def stretch(found: Pieces, first: int, last: int) -> list[str]:
    """Traits of units [first, last) as one moment."""
    units = found.units
    count, length = last - first, units[last - 1].last - units[first].first
    sets = [keys for keys in found.named[first:last] if keys]
    whole = frozenset().union(*sets)
    named = next((at for at in range(first, last) if found.named[at]), last) - first
    traits = [
        f"units {min(count, 8)}",
        f"words {step(length, WORDS)}",
        f"people {min(3, len(set(sets)))} {len(whole) > 1}",
    ]
    if len(set(sets)) > 1:
        apart = not frozenset.intersection(*sets)
        traits.append(f"several {apart} {step(length, WORDS)}")
    if named == count:
        traits.append("unnamed")
        traits.append(f"unnamed personal {any(found.personal[first:last])}")
        traits.append(f"unnamed words {step(length, WORDS)}")
        traits.append(f"unnamed silent {found.silent[first]} {any(found.personal[first:last])}")
    else:
        traits.append(f"named at {min(3, named)}")
        ahead = units[first + named].judged[0].first - units[first].first
        traits.append(f"named behind {step(ahead, (0, 4, 10, 20, 35))}")
    traits += _within(found, first, last)
    return traits


def _within(found: Pieces, first: int, last: int) -> Iterator[str]:
    silences = [one for one in found.silent[first + 1 : last] if one]
    if silences:
        yield f"silence inside {max(silences)} {len(silences) > 1}"
    orders = [at for at in range(first, last) if found.orders[at]]
    if orders:
        yield f"order then {min(2, last - 1 - orders[-1])}"
        if orders[-1] - orders[0] >= len(orders):
            yield "order between"
    told = set(found.praise[first:last])
    yield f"praise {1 in told} {-1 in told}"
    yield f"ruled {min(3, sum(found.ruled[first + 1 : last]))} {found.ruled[first]}"
