"""Whom a moment is about: how likely each who is named in it, or was before, is judged. Pure.

A logistic model over traits of one player in one run of pieces; what each weighs is learned
(moments_training.py).
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from devplans.talkthrough.understand import roles
from devplans.talkthrough.understand.moments_traits import Pieces, step
from devplans.talkthrough.understand.people_parts import FAINT, Mention
from devplans.talkthrough.understand.words import Word

Weights = Mapping[str, float]
# Of the keys of a mention these many are asked about.
RANKS = 3
FAR = (0, 2, 5, 10, 20, 35)
# Words next to a name, and at the beginning, that count one by one.
NEAR, EARLY = 4, 6
AHEADS = (-4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 4.5, 6.0, 8.0, 11.0)
TRADES = (0.5, 2.0, 5.0, 9.0, 15.0)
BRIEF, LONG = 10, 20
_PERSONS = {
    "she": "he he's he'd he'll she she's she'd she'll him his her hers",
    "you": "you you're you've you'd you'll your yours",
    "we": "we we're we've we'd us our",
    "they": "they they're they've their them",
    "i": "i i'm i've i'd i'll me my",
}
PRONOUNS = {word: person for person, words in _PERSONS.items() for word in words.split()}
TIMES = (1, 2_000, 5_000, 9_000, 16_000, 30_000)


@dataclass(frozen=True)
class Before:
    """Who the moment before was about; last: the word behind it; pieces: how many of nobody's came
    since; ended_ms: when it was over."""

    keys: tuple[str, ...] = ()
    last: int = 0
    pieces: int = 0
    spoken: bool = False
    ended_ms: int = 0


@dataclass
class Asked:
    """One player in one run. mentions: those that may mean this player, best first; place: how much
    the best of their places tells; rank: of the player among the keys of the best."""

    key: str
    mentions: list[Mention] = field(default_factory=list)
    place: float = 0.0
    rank: int = RANKS
    judged: bool = False
    first_unit: int = 0


def candidates(found: Pieces, first: int, last: int, mentions: Sequence[Mention]) -> list[Asked]:
    """Players who are named in units [first, last). mentions: all of those in there, in order."""
    known: dict[str, Asked] = {}
    for at in range(first, last):
        unit = found.units[at]
        own = [m for m in mentions if unit.first <= m.first < unit.last and m.keys]
        firm = [one for one in own if one.kind != FAINT]
        faint = [one for one in own if one.kind == FAINT]
        pairs = list(zip(firm, roles.places(found.words, firm, unit.first, unit.last), strict=True))
        for one_faint in faint:
            [place] = roles.places(found.words, [one_faint], unit.first, unit.last)
            pairs.append((one_faint, place))
        for mention, place in pairs:
            for rank, key in enumerate(mention.keys[:RANKS]):
                one = known.setdefault(key, Asked(key, first_unit=at - first))
                if mention.kind == FAINT and one.mentions and one.mentions[0].kind != FAINT:
                    continue
                if one.mentions and one.mentions[0].kind == FAINT != mention.kind:
                    one = known[key] = Asked(key, first_unit=at - first)
                better = (-rank, place) > (-one.rank, one.place)
                one.mentions.insert(0 if better else len(one.mentions), mention)
                one.rank = min(rank, one.rank)
                one.place = max(place, one.place) if rank <= one.rank else one.place
                one.judged = one.judged or (rank == 0 and mention in unit.judged)
    return list(known.values())


def named_traits(
    found: Pieces,
    span: tuple[int, int],
    one: Asked,
    others: Sequence[Asked],
    before: Before,
    ahead: float,
) -> list[str]:
    """Traits of a player who is named in the run."""
    words, units = found.words, found.units[span[0] : span[1]]
    begin, end = units[0].first, units[-1].last
    best = one.mentions[0]
    place = step(one.place, (0.0, 0.5, 1.0, 1.5, 2.0, 2.9))
    sure = f"{best.sure} {one.rank} {min(3, len(best.keys))}"
    spoken = roles.speaks_to(words[begin:end])
    rivals = [
        other
        for other in others
        if other.mentions[0].kind != FAINT and not set(other.mentions) & set(one.mentions)
    ]
    higher = sum(other.place > one.place and other.rank == 0 for other in rivals)
    level = sum(other.place == one.place and other.rank == 0 for other in rivals)
    earlier = sum(other.mentions[0].first < best.first and other.rank == 0 for other in rivals)
    far = step(best.first - begin, FAR)
    traits = [
        "bias",
        f"place {place}",
        f"sure {sure}",
        f"sure {sure} {best.kind}",
        f"place {place} sure {best.sure} {one.rank}",
        f"judged {one.judged} {best.sure}",
        f"judged {one.judged} place {place}",
        f"higher {min(2, higher)} {min(2, level)}",
        f"higher {min(2, higher)} earlier {min(2, earlier)}",
        f"rivals {min(3, len(rivals))} judged {one.judged}",
        f"far {far} rivals {min(2, len(rivals))}",
        f"unit {min(3, one.first_unit)} earlier {min(2, earlier)}",
        f"times {min(3, len(one.mentions))} rivals {min(1, len(rivals))}",
        f"spoken {spoken} place {place}",
        f"spoken {spoken} earlier {min(2, earlier)} higher {min(1, higher)}",
        f"before {one.key in before.keys} {bool(before.keys)}",
        f"before {one.key in before.keys} judged {one.judged}",
    ]
    traits += _around(words, best, begin, end)
    traits += _of_mention(words, best, begin, end, one.place)
    kind = f"{best.kind} {best.sure} {one.rank}"
    traits += [f"{name} {kind}" for name in _of_run(found, span, ahead)]
    traits += [f"{name} place {place}" for name in _of_run(found, span, ahead)]
    traits += _with(words, one, rivals)
    traits += [f"rule {name}" for name in _ruled(found, span, one.key)]
    return traits


def _of_mention(
    words: Sequence[Word], best: Mention, begin: int, end: int, place: float
) -> Iterator[str]:
    """What the name itself, and the words near to it, say."""
    yield from best.traits
    yield f"mention {best.kind} {best.sure} {bool(best.traits)}"
    yield f"length {best.last - best.first} {best.kind} {best.sure}"
    yield from (f"near {w.folded}" for w in words[max(begin, best.first - NEAR) : best.first])
    yield from (f"near {w.folded}" for w in words[best.last : min(end, best.last + NEAR)])
    yield f"then {_pronoun(words[best.last : end])} {place >= roles.SUBJECT}"
    yield f"till then {_pronoun(words[begin : best.first])} {place >= roles.SUBJECT}"


def _pronoun(words: Sequence[Word]) -> str:
    return next((PRONOUNS[word.folded] for word in words if word.folded in PRONOUNS), "none")


def _of_run(found: Pieces, span: tuple[int, int], ahead: float) -> Iterator[str]:
    """What the whole run says: how surely it is a moment, how much of the trade is in it."""
    units = found.units[span[0] : span[1]]
    length = units[-1].last - units[0].first
    yield f"ahead by {step(ahead, AHEADS)}"
    if length > BRIEF:  # few words need no words of the trade
        yield f"trade {step(sum(found.trade[span[0] : span[1]]), TRADES)} {length > LONG}"


def _around(words: Sequence[Word], best: Mention, begin: int, end: int) -> Iterator[str]:
    first, last = best.first, best.last
    ahead = words[first - 1].folded if first > begin else "^"
    behind = words[last].folded if last < end else "$"
    yield f"ahead {ahead}"
    if first - 1 > begin:
        yield f"ahead {words[first - 2].folded} {ahead}"
    yield f"behind {behind}"
    if last + 1 < end:
        yield f"behind {behind} {words[last + 1].folded}"
    for name, ending in (("s", "s"), ("ed", "ed"), ("ing", "ing"), ("is", "'s")):
        if behind.endswith(ending):
            yield f"behind ending {name}"
    if words[last - 1].folded.endswith("'s"):
        yield "owns"
    left = words[first - 1].after.strip()[:1] if first > begin else "^"
    yield f"signs {left} {words[last - 1].after.strip()[:1]}"


def _with(words: Sequence[Word], one: Asked, rivals: Sequence[Asked]) -> Iterator[str]:
    for mine in one.mentions:
        for other in rivals:
            if other.rank:
                continue
            for theirs in other.mentions:
                pair = (mine, theirs) if mine.first < theirs.first else (theirs, mine)
                if roles.joined(words, *pair):
                    yield (
                        f"joined judged {one.judged or other.judged} sure {other.mentions[0].sure}"
                    )
                    return


def _ruled(found: Pieces, span: tuple[int, int], key: str) -> Iterator[str]:
    """What the rules say of this player in the run's first, and in any of its pieces."""
    told = found.told[span[0] : span[1]]
    yield f"{told[0].get(key, 'not')}"
    best = max((one.get(key, "") for one in told), key=len, default="")
    yield f"some {best}"


def carried_traits(
    found: Pieces,
    span: tuple[int, int],
    key: str,
    own: Sequence[Asked],
    before: Before,
    ahead: float,
) -> list[str]:
    """Traits of a player who is not named in the run, but whom the moment before was about."""
    words, units = found.words, found.units[span[0] : span[1]]
    begin, end = units[0].first, units[-1].last
    own = [one for one in own if one.mentions[0].kind != FAINT]
    heads = sum(one.place >= roles.SUBJECT and one.rank == 0 for one in own)
    heads = 2 if heads else 1 if own else 0
    since = words[begin].start_ms - words[max(0, before.last - 1)].end_ms
    time = step(since, TIMES)
    spoken = roles.speaks_to(words[begin:end])
    traits = found.traits[span[0]]
    firsts = [name for name in traits if name.startswith("first ")]
    personal = any(one.personal for one in units)
    others = any(one.others for one in units)
    she = any("some she" in one for one in found.traits[span[0] : span[1]])
    return [
        "carried bias",
        f"carried heads {heads}",
        f"carried heads {heads} personal {personal}",
        f"carried time {time} heads {heads}",
        f"carried pieces {min(3, before.pieces)} {heads}",
        f"carried several {min(3, len(before.keys))} {heads}",
        f"carried spoken {before.spoken} {spoken} {heads}",
        f"carried others {others} {personal}",
        f"carried some she {she} {spoken}",
        f"carried collective {any(one.collective for one in units)} {personal}",
        *(f"carried {name} {min(1, heads)}" for name in firsts),
        *(f"carried rule {name}" for name in _ruled(found, span, key)),
        *(f"carried {name} {heads}" for name in _of_run(found, span, ahead)),
        f"carried {_pronoun(words[begin:end])} {before.spoken} {heads}",
        *(f"carried early {word.folded}" for word in words[begin : min(end, begin + EARLY)]),
    ]


def likely(weights: Weights, traits: Sequence[str]) -> float:
    told = sum(weights.get(name, 0.0) for name in traits)
    return 1.0 / (1.0 + math.exp(-max(-30.0, min(30.0, told))))
