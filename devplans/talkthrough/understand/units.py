# ruff: noqa: E501 - lists of words and patterns
"""The pieces that moments are put together from: a sentence each, or the part of one that is about
somebody else, with what it tells. Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand import roles
from devplans.talkthrough.understand.answers import answers
from devplans.talkthrough.understand.clauses import BREAKS, Cut, cuts, is_bare
from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.words import Word

PERSONAL = re.compile(
    r"\b(?:you(?!r (?:seats|tea|water|tops|shirts|bibs|bags))|you'(?:ve|re|d|ll|s)|your|yours|he|he's"
    r"|he'(?:d|ll)|him|his|she|she's|she'(?:d|ll)|her|hers|himself|herself|yourself|ye|both of (?:you"
    r"|them)|this (?:young|kid|girl|lad|boy)|the (?:kid|lassie|lad)|same (?:girl|kid|guy|lad|lassie|player|pairing|fella|one|boy|man))\b"
)
COLLECTIVE = re.compile(
    r"\b(?:we|us|we'(?:re|ve|ll|d)|our|ours|they|they'(?:re|ve|ll|d)|them|their|theirs|everybody"
    r"|everyone|all of (?:you|us)|team|guys|girls|ladies|gentlemen|lads|boys|folks|bench|ref|referee"
    r"|referees|official|officials|umpire|crowd|coach|time ?out|timeout|quarter|half ?time|halftime"
    r"|final|score|minutes|training|bus|minibus|monday|tuesday|wednesday|thursday|friday"
    r"|saturday|sunday|tomorrow|tonight|film|video|camera|projector|volume|microphone|popcorn|water"
    r"|thank you|thanks|number one thing|opponents?|other (?:team|side|lot)|in white|i'll skip"
    r"|welcome|evening|morning|hello|parents|mum|mums|wife|my (?:wife|dad|assistant|phone|dog|son"
    r"|daughter)|stats|points? from|apologise|chairs|by the way|half time|o'clock|gym|hall|mouse|button|screen share|laptop|shirts)\b"
)
TEAM_FIRST = re.compile(
    r"^(?:\w+ ){0,2}?(?:we|we're|we've|we'll|they|they're|they've|their|everybody|everyone|the whole"
    r"|the bench|the ref|our bench|all of|team|guys|girls|ladies|gentlemen|lads|coach|referee|thank you"
    r"|thanks|my (?:wife|dad|mum|mom|assistant|phone|dog|son|daughter|grandmother)|i'll|i've|i had|mr"
    r"|mrs|mister|nine|that's (?:us|half|the half|your lot|it|all|time)|score|the crowd|old)\b"
)
ABOUT_OTHERS = re.compile(
    r"\b(?:their|they|they're|them|theirs|other (?:team|side|lot)|opponents?)\b"
)
GREETING = re.compile(
    r"\b(?:evening|morning|hello|hi|welcome|good evening|g'day|thank you|thanks|training is|bring"
    r"|tomorrow|see you|that's (?:your lot|all|it for)|minutes?|quarter|half|timeout|time out)\b"
)
# Those who are gone, and those who only came along: never about the squad.
STORY = re.compile(
    r"\b(?:used to (?:play|run|coach|captain)|former (?:player|pupil|captain)|back in (?:my|the) day"
    r"|years ago|when i (?:played|was (?:young|a|your))|played for us|was our (?:number|captain|old))\b"
)
KIN_FIRST = re.compile(
    r"^(?:\w+ ){0,2}?my (?:wife|husband|dad|mum|mom|mother|father|son|daughter|brother|sister|assistant)\b"
)
BOTH = re.compile(r"\b(?:both|these two|those two|the two of|two of you|the pair)\b")
QUICK_ORDER = 0.7
# In text without signs, a name this far into a sentence likely begins another.
FAR_WORDS, NEAR_WORDS = 6, 5
# Strangers make a sentence theirs only where they are named early in it.
EARLY_WORDS = 4
NEAR_STORY = 10


@dataclass(frozen=True)
class Unit:
    """Words [first, last). level and gap_ms: of the cut before it; judged: sure and unsure mentions
    of those it is about; named: any of the squad named at all; others: an opponent or a stranger."""

    first: int
    last: int
    level: int
    gap_ms: int
    judged: tuple[Mention, ...]
    named: bool
    others: bool
    personal: bool
    collective: bool
    order: bool
    turns: bool
    weight: float

    @property
    def keys(self) -> frozenset[str]:
        return frozenset(mention.keys[0] for mention in self.judged)

    @property
    def length(self) -> int:
        return self.last - self.first


def units(words: Sequence[Word], mentions: Sequence[Mention]) -> list[Unit]:
    """In order; they cover all words."""
    bare = is_bare(words)
    places = cuts(words)
    made: list[Unit] = []
    waiting = sorted(mentions, key=lambda mention: mention.first)
    at = 0
    big = [cut for cut in places if cut.level >= 2]
    small = iter([*places, Cut(len(words), 3)])
    fine = next(small)
    for which, cut in enumerate(big):
        last = big[which + 1].at if which + 1 < len(big) else len(words)
        inside = []
        while at < len(waiting) and waiting[at].first < last:
            inside.append(waiting[at])
            at += 1
        clauses = []
        while fine.at < last:
            clauses.append(fine.at)
            fine = next(small)
        for first, end, level in _parts(words, cut, last, clauses, inside, bare=bare):
            own = [mention for mention in inside if first <= mention.first < end]
            made.append(_unit(words, first, end, level, own))
    return made


def _squad(mentions: Sequence[Mention]) -> list[Mention]:
    return [m for m in mentions if m.keys and m.kind not in ("unknown", "opponent")]


def _parts(
    words: Sequence[Word],
    cut: Cut,
    last: int,
    clauses: Sequence[int],
    mentions: Sequence[Mention],
    *,
    bare: bool,
) -> list[tuple[int, int, int]]:
    """(first, last, level): a sentence cut where it turns to somebody else."""
    squad = _squad(mentions)
    told = roles.places(words, squad, cut.at, last)
    starts = [(cut.at, cut.level)]
    before: Mention | None = None
    for mention, place in zip(squad, told, strict=True):
        if place < roles.SUBJECT:
            continue
        since = before.last if before else cut.at
        at = max((c for c in clauses if since <= c <= mention.first and c > cut.at), default=0)
        if before is None:
            if bare and mention.first - cut.at > FAR_WORDS:
                starts.append((_start(words, mention, at), 1))
        elif not set(before.keys[:1]) & set(mention.keys[:1]):
            known = roles.joined(words, before, mention)
            called = place >= roles.CALLED
            if not known and bare:
                starts.append((_start(words, mention, at), 1))
            elif not known and at and _turns(words, at, called=called):
                starts.append((at, 1))
        before = mention
    starts = sorted(dict(reversed(starts)).items())
    ends = [*(first for first, _ in starts[1:]), last]
    return [
        (first, end, level) for (first, level), end in zip(starts, ends, strict=True) if end > first
    ]


def _start(words: Sequence[Word], mention: Mention, at: int) -> int:
    """Where, in text without signs, what is said about the one mentioned begins: at the last cut
    `at` if that is near, or else with the name."""
    if at and mention.first - at <= NEAR_WORDS:
        return at
    first = mention.first
    while first > 1 and words[first - 1].folded in roles.BEFORE_NAME | {"and", "but", "then", "so"}:
        first -= 1
    return first


def _turns(words: Sequence[Word], at: int, *, called: bool) -> bool:
    word = words[at].folded
    if word in ("but", "while", "whereas", "although", "meanwhile", "then", "however"):
        return True
    return called or word == "and"


def _unit(
    words: Sequence[Word], first: int, last: int, level: int, mentions: Sequence[Mention]
) -> Unit:
    squad = _squad(mentions)
    part = words[first:last]
    text = " ".join(word.folded for word in part)
    told = roles.places(words, squad, first, last)
    weight = max(told, default=0.0)
    judged: list[Mention] = []
    if weight > roles.OBJECT:
        best = next(at for at, place in enumerate(told) if place == weight)
        judged = _with_joined(words, squad, told, best)
        if BOTH.search(text) and weight >= roles.SUBJECT:
            heads = [m for m, place in zip(squad, told, strict=True) if place >= roles.SUBJECT]
            judged = heads if len({m.keys[0] for m in heads}) == 2 else judged
    elif squad and weight > roles.ASIDE:
        judged = [squad[told.index(weight)]]
    others = _others(words, mentions, first, last)
    if weight < roles.CALLED and (_story(words, squad, first, last) or KIN_FIRST.match(text)):
        judged, others = [], True
    elif others and judged and not mentions[0].keys:
        from_there = words[judged[0].first - 1].folded == "from"
        judged = [] if weight <= roles.NAMED or from_there else judged
    return Unit(
        first,
        last,
        level,
        words[first].gap_ms if first else 0,
        tuple(judged),
        bool(squad),
        others,
        PERSONAL.search(text) is not None,
        COLLECTIVE.search(text) is not None,
        any(one.strength >= QUICK_ORDER for one in answers(part)),
        BREAKS.match(text) is not None,
        weight,
    )


def _story(words: Sequence[Word], squad: Sequence[Mention], first: int, last: int) -> bool:
    """Is what is said next to the names about those who were here before?"""
    return any(
        STORY.search(
            " ".join(
                word.folded
                for word in words[max(first, m.first - NEAR_STORY) : min(last, m.last + NEAR_STORY)]
            )
        )
        for m in squad[:1]
    )


def _others(words: Sequence[Word], mentions: Sequence[Mention], first: int, last: int) -> bool:
    """Is an opponent, or somebody whom nobody knows, what the sentence is about?"""
    if last - first <= 3:
        return False
    others = [m for m in mentions if not m.keys and m.first - first <= EARLY_WORDS]
    told = roles.places(words, others, first, last)
    return any(
        place > roles.OBJECT and (mention.kind == "opponent" or mention.first - first <= 2)
        for mention, place in zip(others, told, strict=True)
    )


def _with_joined(
    words: Sequence[Word], squad: Sequence[Mention], told: Sequence[float], best: int
) -> list[Mention]:
    chosen = [squad[best]]
    for at in range(best + 1, len(squad)):
        same = squad[at].keys[:1] == chosen[-1].keys[:1]
        if not same and not roles.joined(words, squad[at - 1], squad[at]):
            break
        chosen.append(squad[at])
    for at in range(best - 1, -1, -1):
        if not roles.joined(words, squad[at], squad[at + 1]):
            break
        chosen.insert(0, squad[at])
    return chosen
