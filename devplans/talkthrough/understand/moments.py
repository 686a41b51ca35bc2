"""Talk cut into moments: one set of players, one verdict, one thing. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from devplans.talkthrough.understand import verdict
from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.units import ABOUT_OTHERS, GREETING, Unit, units
from devplans.talkthrough.understand.words import Word

# A silence this long ends a moment, save before what to do instead.
SILENCE_MS = 2_000
ANSWER_MS = 5_000
# How long "she", "he" and "you" point back to who was named last.
CARRY_MS = 16_000
# Words before a name that may lead in to it; how long a moment grows.
LEAD_WORDS, LONG_WORDS, LONG_MS = 14, 45, 20_000
SURE = 0.6

NOT_NAMED = "nobody of the squad is named"
OTHERS = "about the other side or somebody outside the squad"
TEAM = "about the whole team"
AROUND = "about the day, not about how anybody played"


@dataclass
class Moment:
    """Units in a row. judged: who it is about; carried: taken from the moment before; why: not
    empty where it makes no suggestion."""

    units: list[Unit] = field(default_factory=list)
    judged: list[Mention] = field(default_factory=list)
    carried: bool = False
    why: str = ""

    @property
    def first(self) -> int:
        return self.units[0].first

    @property
    def last(self) -> int:
        return self.units[-1].last

    @property
    def keys(self) -> frozenset[str]:
        return frozenset(mention.keys[0] for mention in self.judged)


def moments(words: Sequence[Word], mentions: Sequence[Mention]) -> list[Moment]:
    """In order; each word is in one of them. Those with a `why` are about nobody."""
    found: list[Moment] = []
    for unit in units(words, mentions):
        _put(words, found, unit)
    for at, moment in enumerate(found):
        _settle(words, found, at, moment)
    return found


def _put(words: Sequence[Word], found: list[Moment], unit: Unit) -> None:
    now = found[-1] if found else None
    if now is None:
        found.append(Moment([unit], list(unit.judged)))
        return
    silent = unit.gap_ms > SILENCE_MS
    if unit.judged and unit.weight > 0.5:
        _put_named(words, found, now, unit, silent=silent)
    elif unit.judged and not now.judged:
        found.append(Moment([unit], list(unit.judged)))
    elif _goes_on(words, now, unit, silent=silent):
        now.units.append(unit)
    else:
        found.append(Moment([unit], [] if not silent else list(unit.judged)))


def _put_named(
    words: Sequence[Word], found: list[Moment], now: Moment, unit: Unit, *, silent: bool
) -> None:
    if not now.judged:
        if not silent and _leads_in(words, now, unit):
            now.units.append(unit)
            now.judged = list(unit.judged)
        else:
            found.append(Moment([unit], list(unit.judged)))
        return
    same = unit.keys <= now.keys
    if same and not _new_matter(words, now, unit, silent=silent):
        now.units.append(unit)
        return
    if not same and not silent and _aside(words, now, unit):
        now.units.append(unit)
        return
    moved = []
    while not silent and len(now.units) > 1 and now.units[-1].turns and not now.units[-1].named:
        moved.insert(0, now.units.pop())
    found.append(Moment([*moved, unit], list(unit.judged)))


def _aside(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    """Somebody else is named in a sentence that speaks to those of now ("Tamsin is free and you
    never look")."""
    from devplans.talkthrough.understand import roles

    spoken = any(roles.speaks_to(words[one.first : one.last]) for one in now.units)
    return unit.weight < roles.CALLED and spoken and roles.speaks_to(words[unit.first : unit.last])


def _leads_in(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    length = now.last - now.first
    if any(one.others for one in now.units):
        return False
    text = " ".join(word.folded for word in words[now.first : now.last])
    if GREETING.search(text):
        return False
    return length <= LEAD_WORDS or unit.length <= 8


def _goes_on(words: Sequence[Word], now: Moment, unit: Unit, *, silent: bool) -> bool:
    """Does a sentence without a name belong to the moment before?"""
    if silent:
        return bool(now.judged and unit.order and not unit.turns and unit.gap_ms <= ANSWER_MS)
    if unit.level == 3 and unit.turns:
        return False
    if not now.judged:
        return True
    if unit.others and not unit.personal:
        return False
    if unit.collective and not unit.personal and not unit.order:
        return False
    return not _new_matter(words, now, unit, silent=False)


def _new_matter(words: Sequence[Word], now: Moment, unit: Unit, *, silent: bool) -> bool:
    """The same players, but something else: after a silence, after what to do instead, or with
    another verdict."""
    if silent:
        return not (unit.order and unit.gap_ms <= ANSWER_MS)
    if unit.order and not unit.level == 1:
        return False
    if unit.level < 2 or unit.length < 4:
        return False
    before, sure = verdict.judge(words[now.first : now.last])
    after, as_sure = verdict.judge(words[unit.first : unit.last])
    differs = before != after and min(sure, as_sure) >= SURE
    if now.units[-1].order and (unit.personal or unit.judged):
        return differs or unit.turns
    length_ms = words[unit.last - 1].end_ms - words[now.first].start_ms
    long = unit.last - now.first > LONG_WORDS or length_ms > LONG_MS
    return differs and (long or words[unit.first].folded in ("but", "and", "then", "now", "next"))


def _settle(words: Sequence[Word], found: Sequence[Moment], at: int, moment: Moment) -> None:
    """Who a moment without a name is about, or why it is about nobody."""
    if moment.judged:
        return
    before = next((one for one in reversed(found[:at]) if one.judged), None)
    personal = any(one.personal for one in moment.units)
    others = any(one.others for one in moment.units)
    collective = any(one.collective and not one.personal for one in moment.units)
    text = " ".join(word.folded for word in words[moment.first : moment.last])
    if before is not None and personal and not others and not collective:
        apart = words[moment.first].start_ms - words[before.last - 1].end_ms
        if apart <= CARRY_MS and found[at - 1] is before:
            moment.judged = list(before.judged)
            moment.carried = True
            return
    if others or (ABOUT_OTHERS.search(text) and not personal):
        moment.why = OTHERS
    elif GREETING.search(text):
        moment.why = AROUND
    else:
        moment.why = TEAM if collective else NOT_NAMED
