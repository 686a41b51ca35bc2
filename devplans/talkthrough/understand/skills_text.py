"""Words of a talk made ready for comparing: spelling, mishearings, forms, small words. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from devplans.talkthrough.understand.skills_stems import stem
from devplans.talkthrough.understand.words import WORD, folded

# Words that say nothing about a skill, in a phrase as in a talk, so that "box him out", "box your
# man out" and "you did not box the man out" come near each other.
_SMALL = """
a an the your yours his her hers their theirs my mine our ours its him them it itself himself
herself themselves yourself i you he she they we me us u ya y'all yous
uh um uhm er erm ah oh eh hm hmm mhm well so okay ok alright yeah yep yes please like just
really very quite pretty kinda sorta actually basically literally simply again also too
is are was were be been being am isn aren do does did done have has had having will would
could should shall may might must can cannot
of and or but that this these those there here to for as than then now if because cause
gonna wanna gotta let lets thing things stuff bit little lot
what how m re s ve ll d t
"""
_NEGATIVE = "not no never nobody none without nor neither cannot nothing"
_NUMBERS = "zero one two three four five six seven eight nine ten"
SMALL = frozenset(_SMALL.split())
NEGATIVE = frozenset(_NEGATIVE.split())
NUMBERS = {str(number): word for number, word in enumerate(_NUMBERS.split())}


@dataclass(frozen=True)
class Token:
    """A stem and the words [first, last) that it came from."""

    stem: str
    first: int
    last: int


Replacements = dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]]


@lru_cache(maxsize=20_000)
def pieces(word: str) -> tuple[str, ...]:
    """A word as it is spoken: hyphens open, digits as words, "didn't" as "did not"."""
    parts: list[str] = []
    for match in WORD.finditer(folded(word)):
        for part in match[0].lstrip("#").split("-"):
            if part.endswith("n't") and part != "n't":
                parts += [part[:-3], "not"]
            elif "'" in part and not part.startswith("'"):
                head, tail = part.split("'", 1)
                parts.append(head if tail in {"s", "re", "m", "ve", "ll", "d"} else head + tail)
            elif part:
                parts.append(NUMBERS.get(part, part))
    return tuple(parts)


def replacements(rows: Iterable[tuple[str, str]]) -> Replacements:
    """(heard, meant) by the first word of what was heard, longest first."""
    table: Replacements = {}
    for heard, meant in rows:
        left = tuple(part for word in heard.split() for part in pieces(word))
        right = tuple(part for word in meant.split() for part in pieces(word))
        table.setdefault(left[0], []).append((left, right))
    for entries in table.values():
        entries.sort(key=lambda entry: -len(entry[0]))
    return table


def tokens(words: Sequence[str], misheard: Replacements) -> list[Token]:
    """The stems of the words that matter, mishearings put right."""
    spoken = [(part, index) for index, word in enumerate(words) for part in pieces(word)]
    found: list[Token] = []
    at = 0
    while at < len(spoken):
        length, meant = _replaced(spoken, at, misheard)
        first, last = spoken[at][1], spoken[at + length - 1][1] + 1
        for part in meant:
            if part in NEGATIVE:
                found.append(
                    Token("not" if part not in {"nobody", "without"} else part, first, last)
                )
            elif part not in SMALL:
                found.append(Token(stem(part), first, last))
        at += length
    return found


def _replaced(
    spoken: list[tuple[str, int]], at: int, misheard: Replacements
) -> tuple[int, tuple[str, ...]]:
    for heard, meant in misheard.get(spoken[at][0], ()):
        if len(heard) == 1 or tuple(part for part, _ in spoken[at : at + len(heard)]) == heard:
            return len(heard), meant
    return 1, (spoken[at][0],)
