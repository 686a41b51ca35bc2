"""Talk cut into moments: one set of players, one verdict, one thing. Pure.

Rules cut it first (moments_rules.py). What they say is among the traits by which the likeliest way
to cut is then found (moments_decode.py) and, moment by moment, who it is about (moments_links.py).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from devplans.talkthrough.understand import roles, written
from devplans.talkthrough.understand.clauses import SILENCE_MS
from devplans.talkthrough.understand.corrections import taken_back
from devplans.talkthrough.understand.moments_decode import best, runs_of, scored
from devplans.talkthrough.understand.moments_links import (
    Asked,
    Before,
    candidates,
    carried_traits,
    likely,
    named_traits,
)
from devplans.talkthrough.understand.moments_parts import (
    AROUND,
    NOT_NAMED,
    NOTHING,
    OTHERS,
    TEAM,
    Moment,
    reason,
)
from devplans.talkthrough.understand.moments_rules import by_rules
from devplans.talkthrough.understand.moments_traits import Pieces, pieces
from devplans.talkthrough.understand.people_parts import FAINT, Mention
from devplans.talkthrough.understand.units import Unit, units
from devplans.talkthrough.understand.words import Word

__all__ = ["AROUND", "NOTHING", "NOT_NAMED", "OTHERS", "TEAM", "Moment", "moments"]

CUT_WEIGHTS = written.FOLDER / "cut_weights.csv"
LINK_WEIGHTS = written.FOLDER / "link_weights.csv"
# From where on somebody who is named, or whom the moment before was about, is filled in, and from
# where on he is asked about.
SURE, CARRIED_SURE, ASK = 0.75, 0.72, 0.1
# Whoever is this likely is who the next moment's "you" points back to.
POINTED = 0.3
# After a pause like that nobody is meant who is not named again: between two takes lies as much.
FORGOTTEN_MS = 30_000


@dataclass(frozen=True)
class Learned:
    """Weights by trait: of what cuts, and of what tells who is meant."""

    cut: Mapping[str, float]
    link: Mapping[str, float]


@cache
def learned() -> Learned:
    cut, link = (
        {row["trait"]: float(row["weight"]) for row in written.rows(path.name)}
        for path in (CUT_WEIGHTS, LINK_WEIGHTS)
    )
    return Learned(cut, link)


@dataclass
class Talk:
    """Words, the mentions that are not taken back, and what is made of them."""

    words: Sequence[Word]
    mentions: Sequence[Mention]
    faint: Sequence[Mention] = ()
    found: Pieces = field(init=False)

    def __post_init__(self) -> None:
        made = units(self.words, self.mentions)
        self.found = pieces(self.words, made, by_rules(self.words, made))
        named = [one for one in (*self.mentions, *self.faint) if one.keys]
        self._named = sorted(named, key=lambda one: one.first)

    def inside(self, first: int, last: int) -> list[Mention]:
        """Mentions of the squad in units [first, last), faint ones too."""
        begin, end = self.found.units[first].first, self.found.units[last - 1].last
        return [one for one in self._named if begin <= one.first < end]


def read_talk(
    words: Sequence[Word], mentions: Sequence[Mention], faint: Sequence[Mention] = ()
) -> Talk:
    back = taken_back(words, mentions)
    return Talk(words, [mention for at, mention in enumerate(mentions) if at not in back], faint)


def moments(
    words: Sequence[Word],
    mentions: Sequence[Mention],
    weights: Learned | None = None,
    faint: Sequence[Mention] = (),
) -> list[Moment]:
    """In order; each word is in one of them. Those with a `why` are about nobody. faint: words that
    may be names, but hardly are."""
    talk = read_talk(words, mentions, faint)
    weights = weights or learned()
    found: list[Moment] = []
    before = Before()
    known: dict[str, Mention] = {}
    told = scored(weights.cut, talk.found, runs_of(talk.found)).without(talk.found)
    for first, last, is_moment in best(told):
        # Nobody's for the cutter; yet rules that begin something here may know about whom.
        if is_moment or (talk.found.told[first] and talk.found.ruled[first]):
            ahead = told.ahead(first, last)
            moment, now = _linked(talk, (first, last), before, known, weights.link, ahead)
            if is_moment or moment.judged:
                found.append(moment)
                before = now or replace(before, pieces=before.pieces + last - first)
                continue
        _add_nobody(words, found, talk.found.units[first])
        before = replace(before, pieces=before.pieces + 1)
    return found


def _add_nobody(words: Sequence[Word], found: list[Moment], unit: Unit) -> None:
    if found and found[-1].why and unit.gap_ms <= SILENCE_MS:
        found[-1].units.append(unit)
    else:
        found.append(Moment([unit]))
    found[-1].why = reason(words, found[-1])


def asked_about(
    talk: Talk, span: tuple[int, int], before: Before, ahead: float
) -> Iterator[tuple[str, Asked | None, list[str]]]:
    """(player, how named or None, traits) of each who may be meant in a run. ahead: how far its
    being a moment is ahead of its being about nobody."""
    own = candidates(talk.found, *span, talk.inside(*span))
    for one in own:
        yield one.key, one, named_traits(talk.found, span, one, own, before, ahead)
    since = talk.words[talk.found.units[span[0]].first].start_ms - before.ended_ms
    for key in before.keys if since < FORGOTTEN_MS else ():
        if all(one.key != key for one in own):
            yield key, None, carried_traits(talk.found, span, key, own, before, ahead)


def _linked(
    talk: Talk,
    span: tuple[int, int],
    before: Before,
    known: dict[str, Mention],
    weights: Mapping[str, float],
    ahead: float,
) -> tuple[Moment, Before | None]:
    """A run as a moment, and whom the next one may point back to, if anybody."""
    moment = Moment(list(talk.found.units[span[0] : span[1]]))
    told = sorted(
        (
            (likely(weights, traits), key, own)
            for key, own, traits in asked_about(talk, span, before, ahead)
        ),
        key=lambda one: (-one[0], one[1]),
    )
    for share, key, own in told:
        mention = known[key] if own is None else _heard(own, key)
        if share >= (CARRIED_SURE if own is None else SURE):
            known[key] = replace(mention, sure=True)
            moment.judged.append(known[key])
        elif share >= ASK:
            known[key] = replace(mention, sure=False)
            moment.asked.append(known[key])
        if own is None and share >= ASK:
            moment.carried = True
    keys = tuple(m.keys[0] for m in moment.judged) or tuple(
        key for share, key, _ in told[:1] if share >= POINTED
    )
    if not keys:
        return moment, None
    ended_ms = talk.words[moment.last - 1].end_ms
    return moment, Before(keys, moment.last, 0, talk_to(talk, moment), ended_ms)


def _heard(own: Asked, key: str) -> Mention:
    best = own.mentions[0]
    return replace(best, keys=(key,), kind="name" if best.kind == FAINT else best.kind)


def talk_to(talk: Talk, moment: Moment) -> bool:
    return roles.speaks_to(talk.words[moment.first : moment.last])
