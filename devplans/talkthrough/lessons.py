"""What a coach's corrections say about how names are heard."""

import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from doublemetaphone import doublemetaphone
from rapidfuzz import fuzz

from devplans.feedback.naming import TENS, UNITS
from devplans.talkthrough.everyday import is_everyday
from devplans.talkthrough.roster import names_of
from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.people_words import plain_english
from devplans.talkthrough.understand.words import WORD, folded

LONGEST = 60
NUMBERS = frozenset([*UNITS, *TENS, "number", "numbers", "no", "nr", "jersey", "shirt", "player"])
# Of 100: so much alike are a name and what was made of it, in letters or in sound.
ALIKE = 60
# So much more alike must words be that everybody says.
BOTHER = 5
MOST_WORDS = 3


@dataclass(frozen=True)
class Ask:
    """Did these words mean that player? The coach is asked, as they may well not."""

    heard: str
    key: str


@dataclass
class Lessons:
    """What a correction says of names: words that are a player's from now on, words that are
    nobody's any more, and what to ask."""

    teach: list[Ask] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    forget: list[Ask] = field(default_factory=list)


def guess(said: str, heard: Sequence[Mapping[str, Any]], player: RosterPlayer) -> str:
    """The words of `said`, at most three, that may be what was made of the player's name, where
    none were taken for a name; "" where none come near. Pure.

    Those that sound like it most; else the only one that is no English word, or the first one,
    where the speaker may address somebody.
    """
    words = [folded(match[0]) for match in WORD.finditer(said)]
    known = {word for entry in heard for word in folded(entry["text"]).split()}
    best, chosen = ALIKE, ""
    for first in range(len(words)):
        for last in range(first + 1, min(first + MOST_WORDS, len(words)) + 1):
            part = words[first:last]
            text = " ".join(part)
            if known & set(part) or not _may_be_alias(text) or text in names_of(player):
                continue
            score = _likeness(text, player) - (BOTHER if is_everyday(text) else 0)
            if score > best:
                best, chosen = score, text
    if chosen:
        return chosen
    strange = [word for word in words if word not in known and not plain_english(word)]
    if len(set(strange)) != 1:
        strange = [word for word in words[:1] if word not in known and not is_everyday(word)]
    return strange[0] if strange and _may_be_alias(strange[0]) else ""


def _likeness(text: str, player: RosterPlayer) -> float:
    """0..100: how much `text` is like a name of the player, in letters or in sound."""
    joined = text.replace(" ", "")
    best = 0.0
    for name in names_of(player):
        if " " in name:
            continue
        best = max(best, fuzz.ratio(joined, name.replace("-", "")))
        for one in doublemetaphone(joined):
            for other in doublemetaphone(name):
                if one and other and min(len(one), len(other)) > 1 and one == other:
                    best = max(best, 90.0 + len(joined) / 10)
    return best


def plain(heard: str) -> str:
    """Words as an alias keeps them: lower case, single spaces, no possessive, no signs around."""
    return folded(heard).strip(' .,;:!?"“”()[]').removesuffix("'s").removesuffix("'").strip()


def sounds_like(heard: str, player: RosterPlayer) -> bool:
    """May a careless listener have made `heard` of one of the player's names?"""
    text = plain(heard).replace(" ", "")
    for name in names_of(player):
        joined = name.replace(" ", "").replace("-", "")
        if fuzz.ratio(text, joined) >= ALIKE:
            return True
        keys = [(a, b) for a in doublemetaphone(text) for b in doublemetaphone(joined) if a and b]
        # Two consonants are shared by half of all names.
        if any(a == b or (min(len(a), len(b)) > 2 and fuzz.ratio(a, b) > ALIKE) for a, b in keys):
            return True
    return False


def lessons(
    heard: Sequence[Mapping[str, Any]],
    *,
    added: Collection[str],
    removed: Collection[str],
    roster: Sequence[RosterPlayer],
) -> Lessons:
    """What it says that a coach added and removed players of a suggestion with these heard words.

    heard: as `Suggestion.heard`; added, removed: keys of players. Pure.
    """
    found = Lessons()
    by_key = {player.key: player for player in roster}
    for key in added:
        if key not in by_key:
            continue
        taken = {name for player in roster if player.key != key for name in names_of(player)}
        for ask, is_clear in _candidates(heard, by_key[key], removed, len(added)):
            if plain(ask.heard) not in taken:
                is_known = is_clear and not is_everyday(ask.heard)
                (found.teach if is_known else found.asks).append(ask)
    return _settled(found, heard, removed)


def _settled(
    found: Lessons, heard: Sequence[Mapping[str, Any]], removed: Collection[str]
) -> Lessons:
    """Words that two players would have are asked about; what meant a removed one does no more."""
    taught = Counter(ask.heard for ask in found.teach)
    found.asks += [ask for ask in found.teach if taught[ask.heard] > 1]
    found.teach = [ask for ask in found.teach if taught[ask.heard] == 1]
    for entry in heard:
        words = plain(entry["text"])
        if entry["sure"] and words not in taught:
            found.forget += [Ask(words, key) for key in entry["players"] if key in removed]
    return found


def _candidates(
    heard: Sequence[Mapping[str, Any]],
    player: RosterPlayer,
    removed: Collection[str],
    added_count: int,
) -> Iterable[tuple[Ask, bool]]:
    """Words that may have meant the player, and whether that is clear."""
    offered = [e for e in heard if not e["sure"] and player.key in e["players"]]
    wrong = [e for e in heard if e["sure"] and set(e["players"]) & set(removed)]
    unknown = [e for e in heard if not e["players"]]
    entries, is_told = (offered, True) if offered else (wrong, added_count == 1)
    if not entries:
        entries, is_told = unknown, False
    own = names_of(player)
    texts = list(dict.fromkeys(plain(entry["text"]) for entry in entries))
    texts = [text for text in texts if _may_be_alias(text) and text not in own]
    alike = [text for text in texts if sounds_like(text, player)]
    if len(texts) == 1:
        yield Ask(texts[0], player.key), is_told or bool(alike)
    elif len(alike) == 1:
        yield Ask(alike[0], player.key), True
    else:
        for text in alike or texts:
            yield Ask(text, player.key), False


def _may_be_alias(text: str) -> bool:
    """Is it a name's length, and no number, in figures or in words?"""
    words = re.split(r"[\s#-]+", text)
    is_number = all(word.isdecimal() or word in NUMBERS for word in words if word)
    return 1 < len(text) <= LONGEST and not is_number
