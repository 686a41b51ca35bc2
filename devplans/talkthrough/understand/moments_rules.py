"""Talk cut into moments by rules: one set of players, one verdict, one thing. Pure."""

import re
from collections.abc import Sequence

from devplans.talkthrough.understand import roles, verdict
from devplans.talkthrough.understand.clauses import SILENCE_MS
from devplans.talkthrough.understand.moments_parts import Moment, reason
from devplans.talkthrough.understand.units import GREETING, TEAM_FIRST, Unit
from devplans.talkthrough.understand.words import Word

# A silence this long ends a moment, save before what to do instead.
ANSWER_MS = 5_000
# How long "she", "he" and "you" point back to who was named last, and how long one may ask.
CARRY_MS, ASK_MS = 16_000, 40_000
# Words before a name that may lead in to it; how long a moment grows.
LEAD_WORDS, LONG_WORDS, LONG_MS = 16, 45, 20_000
# A pause that tells that something else begins.
BREATH_MS = 450
SURE = 0.5
FEW_WORDS = 3
# How far before a name "you" or "she" tells that the name only stands by.
AHEAD_WORDS = 12

BACK = re.compile(r"(?:that|that's|this|which|so that|it's|it|and that|because|cause)\b")
POINTS_BACK = re.compile(
    r"(?:(?:other end|this time|that time|same (?:trip|clip|thing|play|one)|and|but|so|then|now|oh"
    r"|ah|yes|yeah|well|right|alright|ok|better|nice|good|great|lovely|also|still|that's|it's|funny|this"
    r"|here's|okay|again|here|there|look|see|next|trip|same|also|even|if|when|where|why"
    r"|what|did|was|is|are|do|how|one|thing|because|after|before|for) )*"
    r"(?:you|you've|you're|you'd|your|he|he's|she|she's|his|her|same (?:girl|kid|guy|lad|boy|player"
    r"|pairing|man|lassie|again))\b"
)
EVERYBODY = re.compile(r"\b(?:everybody|everyone|all of (?:you|us)|you (?:guys|all|lot)|y'all)\b")
# "You see Tamsin here": no more than "look".
SEEN = re.compile(r"\b(?:you|ye)(?: can| could)? (?:see|saw|know|look|watch|notice|remember)\b")
# Somebody acts before the name comes; the name may yet begin something of its own.
ACTS = re.compile(
    r"\b(?:he|he's|he'd|he'll|she|she's|she'd|she'll|him"
    r"|her(?= (?:and|the|a|in|on|at|to|there|here|as|when|because|with|so|but)))\b"
)
APART = re.compile(
    r"\b(?:but|while|whereas|although|meanwhile)(?: \w+)?$"
    r"|^(?:there|here|and|now|look)? ?(?:he|she)(?:'s| is)$"
)
AND_YOU = re.compile(
    r"\b(?:and|but|while) (?:then |there's |still |now )?(?:you|you're|you've|you'd)\b"
)
NO_VERBS = frozenset(
    ["this", "his", "hers", "yours", "its", "as", "us", "always", "perhaps", "the"]
)
JOINS_ON = re.compile(r"\b(?:and|then|so|and then|and so)$")
# Somebody who is not named, but not whoever was named last either.
ANOTHER = re.compile(
    r"^(?:\w+ ){0,3}?(?:the|this|that|our|my) (?:\w+ )?(?:kid|guy|girl|one|lad|boy|passer|man|woman"
    r"|lassie|fella|player|handler|shooter|guard|big|post) (?:with|who|in|on|at|that)\b"
)


def by_rules(words: Sequence[Word], pieces: Sequence[Unit]) -> list[Moment]:
    """In order; each unit is in one of them. Those with a `why` are about nobody."""
    found: list[Moment] = []
    for unit in pieces:
        _put(words, found, unit)
    found = _with_crumbs(found)
    for at, moment in enumerate(found):
        _settle(words, found, at, moment)
    return found


def _put(words: Sequence[Word], found: list[Moment], unit: Unit) -> None:
    now = found[-1] if found else None
    if now is None:
        found.append(Moment([unit], list(unit.judged)))
        return
    silent = unit.gap_ms > SILENCE_MS
    beside = _bystander(words, unit) and (silent or not now.judged)
    if beside and (silent or unit.weight <= roles.OBJECT):
        found.append(Moment([unit], asked=list(unit.judged)))
    elif unit.judged and (unit.weight > roles.OBJECT or silent):
        _put_named(words, found, now, unit, silent=silent)
    elif unit.judged and not now.judged:
        found.append(Moment([unit], list(unit.judged)))
    elif _goes_on(words, now, unit, silent=silent):
        now.units.append(unit)
    else:
        found.append(Moment([unit]))


def _put_named(
    words: Sequence[Word], found: list[Moment], now: Moment, unit: Unit, *, silent: bool
) -> None:
    if not now.judged:
        if not silent and (_bystander(words, unit) or _already_spoken_to(words, now, unit)):
            now.units.append(unit)
            now.asked += unit.judged
        elif not silent and _leads_in(words, now, unit):
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
    if not same and not silent and _takes_over(now, unit):
        now.units.append(unit)
        now.judged = list(unit.judged)
        return
    moved: list[Unit] = []
    while not silent and len(now.units) > 1 and _turns_to(now.units[-1]):
        moved.insert(0, now.units.pop())
    found.append(Moment([*moved, unit], list(unit.judged)))


def _turns_to(unit: Unit) -> bool:
    return not unit.named and not unit.order and (unit.turns or unit.length <= FEW_WORDS)


def _aside(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    """Somebody else is named in a sentence that speaks to those of now ("Tamsin is free and you
    never look")."""
    if unit.weight >= roles.CALLED:
        return False
    if _bystander(words, unit):
        return True
    spoken = any(roles.speaks_to(words[one.first : one.last]) for one in now.units)
    return spoken and roles.speaks_to(words[unit.first : unit.last])


def _bystander(words: Sequence[Word], unit: Unit) -> bool:
    """Do the words before the name already say who acts ("you drive and Tamsin is free", "she is
    where Tamsin wants to go")?"""
    if unit.weight >= roles.CALLED or not unit.judged:
        return False
    if unit.weight <= roles.SUBJECT and _and_you(words, unit):
        return True
    name = unit.judged[0].first
    ahead = words[max(unit.first, name - AHEAD_WORDS) : max(name, unit.first)]
    text = " ".join(word.folded for word in ahead)
    if SEEN.search(text) or APART.search(text) or _called_last(words, unit):
        return False
    if roles.speaks_to(ahead):
        return True
    return ACTS.search(text) is not None and not JOINS_ON.search(text)


def _and_you(words: Sequence[Word], unit: Unit) -> bool:
    """ "Tamsin is open and you hold it." """
    name = unit.judged[-1]
    if name.last >= unit.last or words[name.last - 1].after.strip():
        return False
    verb = words[name.last].folded
    owns = words[name.last - 1].folded.endswith("'s")
    if not owns and (verb in NO_VERBS or not verb.endswith(("s", "'s"))):
        return False
    behind = words[name.last : min(unit.last, name.last + AHEAD_WORDS + FEW_WORDS)]
    return AND_YOU.search(" ".join(word.folded for word in behind)) is not None


def _called_last(words: Sequence[Word], unit: Unit) -> bool:
    """ "What are you doing, Maeve and Tamsin?" """
    first, last = unit.judged[0].first, unit.judged[-1].last
    if unit.weight == roles.NAMED and last >= unit.last and not words[first - 1].after:
        return True
    apart = first > unit.first and "," in words[first - 1].after
    return apart and (last >= unit.last or words[last - 1].ends_sentence)


def _already_spoken_to(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    """ "You" is somebody whose name nobody could read: whoever is named next is no safe answer."""
    if unit.weight >= roles.CALLED or not roles.speaks_to(words[now.first : now.last]):
        return False
    return roles.speaks_to(words[unit.first : unit.last])


def _takes_over(now: Moment, unit: Unit) -> bool:
    """Those of now were only where it happened ("When Jure is passed, ..."): it is about who is
    named next."""
    length = now.last - now.first
    weak = all(one.weight <= roles.WHEN for one in now.units)
    return weak and unit.weight >= roles.SUBJECT and length <= LEAD_WORDS


def _leads_in(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    length = now.last - now.first
    if any(one.others or one.order for one in now.units):
        return False
    text = " ".join(word.folded for word in words[now.first : now.last])
    if GREETING.search(text):
        return False
    if _turns_away(words, now, unit):
        return False
    return length <= LEAD_WORDS or unit.length <= 8


def _turns_away(words: Sequence[Word], now: Moment, unit: Unit) -> bool:
    """ "You're pointing at it. Xavier drops down." """
    spoken = roles.speaks_to(words[now.first : now.last])
    told = unit.weight in (roles.SUBJECT, roles.WHEN)
    return spoken and told and not roles.speaks_to(words[unit.first : unit.last])


def _goes_on(words: Sequence[Word], now: Moment, unit: Unit, *, silent: bool) -> bool:
    """Does a sentence without a name belong to the moment before?"""
    if silent:
        return bool(now.judged and unit.order and not unit.turns and unit.gap_ms <= ANSWER_MS)
    if unit.level == 3 and unit.turns:
        return False
    if not now.judged:
        return True
    if unit.others:
        return False
    text = " ".join(word.folded for word in words[unit.first : unit.last])
    team = unit.collective and not unit.personal and not unit.order
    apart = unit.gap_ms > BREATH_MS or TEAM_FIRST.match(text) is not None
    if team and apart and not BACK.match(text):
        return False
    if ANOTHER.match(text) and not unit.judged:
        return False
    return not _new_matter(words, now, unit, silent=False)


def _new_matter(words: Sequence[Word], now: Moment, unit: Unit, *, silent: bool) -> bool:
    """The same players, but something else: after a silence, after what to do instead, or with
    another verdict."""
    if silent:
        return not (unit.order and unit.gap_ms <= ANSWER_MS and not unit.judged)
    if unit.judged and now.last - now.first <= FEW_WORDS + 2:
        return False
    if unit.order and not (unit.judged and any(one.order for one in now.units)):
        return False
    if unit.level < 2 or unit.length < 4:
        return False
    before, sure = verdict.judge(words[now.first : now.last])
    after, as_sure = verdict.judge(words[unit.first : unit.last])
    differs = before != after and min(sure, as_sure) >= SURE
    turned = words[unit.first].folded in ("but", "and", "then", "now", "next", "although", "so")
    breath = unit.gap_ms > BREATH_MS
    if now.units[-1].order and (unit.personal or unit.judged):
        return differs or unit.turns or breath or turned
    length_ms = words[unit.last - 1].end_ms - words[now.first].start_ms
    long = unit.last - now.first > LONG_WORDS or length_ms > LONG_MS
    return differs and (long or turned or breath)


def _with_crumbs(found: list[Moment]) -> list[Moment]:
    """Two or three words about nobody between two moments go to the next one that follows at once,
    or else to the one before."""
    kept: list[Moment] = []
    for at, moment in enumerate(found):
        crumb = not moment.judged and moment.last - moment.first <= FEW_WORDS
        after = found[at + 1] if at + 1 < len(found) else None
        if crumb and after is not None and after.units[0].gap_ms <= SILENCE_MS:
            after.units[:0] = moment.units
        elif crumb and kept and moment.units[0].gap_ms <= SILENCE_MS:
            kept[-1].units += moment.units
        else:
            kept.append(moment)
    return kept


def _settle(words: Sequence[Word], found: Sequence[Moment], at: int, moment: Moment) -> None:
    """Who a moment without a name is about, or why it is about nobody."""
    if moment.judged:
        return
    text = " ".join(word.folded for word in words[moment.first : moment.last])
    personal = any(one.personal for one in moment.units)
    first = moment.units[0]
    collective = any(one.collective and not one.personal for one in moment.units)
    others = any(one.others for one in moment.units)
    if personal and not others and not GREETING.search(text) and not collective:
        before = next((one for one in reversed(found[:at]) if one.judged), None)
        apart = _apart(words, before, moment)
        direct = before is not None and _only_about(found[:at], before)
        if before is not None and apart <= ASK_MS:
            moment.carried = True
            since = _apart(words, found[at - 1], moment)
            near = direct and since <= CARRY_MS and len(before.keys) == 1
            shifts = first.gap_ms <= SILENCE_MS and _shifts(words, before, moment)
            if near and _points_back(text) and not first.others and not shifts:
                moment.judged = list(before.judged)
            else:
                moment.asked = [*before.judged, *moment.asked]
            return
    if moment.asked:
        return
    moment.why = reason(words, moment)


def _shifts(words: Sequence[Word], before: Moment, moment: Moment) -> bool:
    """ "Kwabena gets beat. You're pointing": is somebody else spoken to in the same breath?"""
    spoken = roles.speaks_to(words[before.first : before.last])
    called = any(one.weight >= roles.CALLED for one in before.units)
    return not spoken and not called and roles.speaks_to(words[moment.first : moment.last])


def _only_about(found: Sequence[Moment], before: Moment) -> bool:
    """Has nobody else come up since?"""
    for moment in reversed(found):
        if moment is before:
            return True
        if not moment.carried or {m.keys[0] for m in moment.asked} != before.keys:
            return False
    return False


def _points_back(text: str) -> bool:
    """Do the first words clearly mean whoever was named last? A name that nobody could read often
    stands before a "you" that comes later."""
    return (
        POINTS_BACK.match(text) is not None
        and not ANOTHER.match(text)
        and not re.match(r"(?:\w+ ){0,2}?you know\b", text)
        and not EVERYBODY.search(text)
    )


def _apart(words: Sequence[Word], before: Moment | None, moment: Moment) -> int:
    return words[moment.first].start_ms - words[before.last - 1].end_ms if before else 0
