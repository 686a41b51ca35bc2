"""What mentions say about each other: doubles, a name taken back. Pure."""

from collections.abc import Sequence
from dataclasses import replace

from devplans.talkthrough.understand.people_parts import Mention, words_in
from devplans.talkthrough.understand.words import Word

RECENT_MS = 25_000
_TAKING_BACK = words_in(
    """
no sorry mean wait actually rather correction scratch oops excuse lied
"""
)
_FILLING = words_in(
    """
no sorry i mean lied wait actually rather it's its that's thats it that is was not uh um er ah oh
make say correction scratch my mistake bad excuse me oops or well hang on hold a second apologies
beg pardon apology
"""
)


def settle(words: Sequence[Word], found: list[Mention], shared: frozenset[int]) -> list[Mention]:
    """The mentions, settled among themselves, in order. shared: the first words of those whose
    name is clear but borne by several."""
    found = _neighbours(found)
    found = _taken_back(words, found)
    return _recent(words, found, shared)


def _neighbours(found: list[Mention]) -> list[Mention]:
    """ "Tamsin, number four" and "four, Tamsin" name one player together."""
    out: list[Mention] = []
    for one in found:
        last = out[-1] if out else None
        if last and last.keys and one.keys and one.first == last.last:
            both = tuple(key for key in last.keys if key in one.keys)
            mixed = {last.kind, one.kind} == {"name", "number"}
            doubt = not (last.sure and one.sure)
            if both and (mixed or doubt or last.keys == one.keys):
                kind = "name" if "name" in (last.kind, one.kind) else one.kind
                sure = len(both) == 1 or (last.sure and one.sure)
                traits = (*last.traits, *one.traits, "twice")
                out[-1] = Mention(last.first, one.last, both, sure, kind, traits)
                continue
        out.append(one)
    return out


def _taken_back(words: Sequence[Word], found: list[Mention]) -> list[Mention]:
    """ "Maeve, no sorry, Tamsin": only the second is meant."""
    out: list[Mention] = []
    for place, one in enumerate(found):
        following = found[place + 1] if place + 1 < len(found) else None
        if following and following.keys and one.keys and one.keys != following.keys:
            between = [word.folded for word in words[one.last : following.first]]
            if 0 < len(between) <= 6 and _takes_back(between, words[one.last - 1].after):
                continue
        before = [word.folded for word in words[max(0, one.first - 1) : one.first]]
        if before == ["not"] and _instead(words, found, place):
            continue
        out.append(one)
    return out


def _takes_back(between: Sequence[str], sign: str) -> bool:
    if not all(word in _FILLING for word in between):
        return False
    if any(
        word in ("sorry", "mean", "correction", "scratch", "oops", "apologies", "lied")
        for word in between
    ):
        return True
    return between[0] in ("no", "wait", "actually") or tuple(between[:2]) == ("or", "rather")


def _instead(words: Sequence[Word], found: Sequence[Mention], place: int) -> bool:
    """ "Tamsin, not Maeve" and "not Maeve, Tamsin"."""
    one = found[place]
    if place and 0 < one.first - found[place - 1].last <= 3 and found[place - 1].sure:
        return True
    if place + 1 < len(found):
        between = [word.folded for word in words[one.last : found[place + 1].first]]
        return len(between) <= 2 and all(
            word in ("but", "it's", "that's", "its") for word in between
        )
    return False


def _recent(
    words: Sequence[Word], found: Sequence[Mention], shared: frozenset[int]
) -> list[Mention]:
    """One of two with the same name, where the talk has just settled which."""
    out: list[Mention] = []
    last_of: dict[str, int] = {}
    for one in found:
        if one.first in shared and not one.sure and len(one.keys) > 1:
            now = words[one.first].start_ms
            known = [key for key in one.keys if now - last_of.get(key, -(10**9)) <= RECENT_MS]
            if known:
                best = max(known, key=lambda key: last_of[key])
                rest = tuple(key for key in one.keys if key != best)
                one = replace(one, keys=(best, *rest), sure=len(known) == 1)
        if one.sure and one.keys:
            last_of[one.keys[0]] = words[one.first].start_ms
        out.append(one)
    return out
