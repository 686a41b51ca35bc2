"""Phrases of the trade and where they stand in a talk. Pure.

In a phrase `a|b` is either word, `hand*` any word that begins so, `..` a gap of at most two words,
`...` one of at most five. Words are compared by their stems; small words ("the", "his", "you") do
not count on either side. A negative weight says: these words are not about that skill.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.skills_stems import stem
from devplans.talkthrough.understand.skills_text import (
    NEGATIVE,
    SMALL,
    Replacements,
    Token,
    pieces,
    tokens,
)

GAPS = {"..": 2, "...": 5}


@dataclass(frozen=True)
class Part:
    """One place of a phrase: the stems and beginnings that fit it, and how many words may stand
    before it."""

    stems: frozenset[str]
    beginnings: tuple[str, ...]
    gap: int

    def fits(self, word: str) -> bool:
        return word in self.stems or any(word.startswith(start) for start in self.beginnings)


@dataclass(frozen=True)
class Phrase:
    slug: str
    text: str
    weight: float
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Hit:
    """Words [first, last) that stand for a skill, tokens [start, end) likewise."""

    first: int
    last: int
    start: int
    end: int
    slug: str
    text: str
    weight: float


def compiled(slug: str, text: str, weight: float, misheard: Replacements) -> Phrase | None:
    """None if nothing but small words is left."""
    parts: list[Part] = []
    gap = 0
    for run in _runs(text):
        if isinstance(run, int):
            gap = max(gap, run)
            continue
        for part in _parts(run, misheard, gap):
            parts.append(part)
            gap = 0
    return Phrase(slug, text, weight, tuple(parts)) if parts else None


def _runs(text: str) -> list[list[str] | int]:
    """Plain words together (so that mishearings of several words are put right), the rest alone."""
    runs: list[list[str] | int] = []
    for word in text.split():
        if word in GAPS:
            runs.append(GAPS[word])
        elif "|" in word or "*" in word:
            runs.append([word])
        elif runs and isinstance(runs[-1], list) and not set(runs[-1][0]) & set("|*"):
            runs[-1].append(word)
        else:
            runs.append([word])
    return runs


def _parts(run: list[str], misheard: Replacements, gap: int) -> list[Part]:
    if "|" not in run[0] and "*" not in run[0]:
        found = tokens(run, misheard)
        return [
            Part(frozenset({token.stem}), (), gap if place == 0 else 0)
            for place, token in enumerate(found)
        ]
    stems, beginnings = set(), []
    for choice in run[0].split("|"):
        if choice.endswith("*"):
            beginnings.append(choice[:-1])
        elif choice in NEGATIVE:
            stems.add(choice if choice in {"nobody", "without"} else "not")
        elif choice not in SMALL:
            stems |= {stem(piece) for piece in pieces(choice)}
    return [Part(frozenset(stems), tuple(beginnings), gap)]


class Phrases:
    """Finds phrases in tokens."""

    def __init__(self, phrases: Iterable[Phrase]) -> None:
        self._by_stem: dict[str, list[Phrase]] = {}
        self._by_beginning: dict[str, list[tuple[str, Phrase]]] = {}
        for phrase in phrases:
            for word in phrase.parts[0].stems:
                self._by_stem.setdefault(word, []).append(phrase)
            for start in phrase.parts[0].beginnings:
                self._by_beginning.setdefault(start[:1], []).append((start, phrase))

    def find(self, words: Sequence[Token]) -> list[Hit]:
        """Of each skill the best hits that do not overlap each other, in order."""
        raw: list[Hit] = []
        for at, token in enumerate(words):
            for phrase in self._starting(token.stem):
                end = _end(phrase.parts, words, at)
                if end:
                    first, last = token.first, words[end - 1].last
                    raw.append(Hit(first, last, at, end, phrase.slug, phrase.text, phrase.weight))
        return _apart(raw)

    def _starting(self, word: str) -> list[Phrase]:
        plain = self._by_stem.get(word, [])
        near = self._by_beginning.get(word[:1], ())
        wild = [phrase for start, phrase in near if word.startswith(start)]
        return [*plain, *wild] if wild else plain


def _end(parts: tuple[Part, ...], words: Sequence[Token], at: int) -> int:
    """Where the phrase that begins at a token ends; 0 if it is not there. Negatives are skipped:
    "not box out" and "box not out" are both about boxing out."""
    place = at + 1
    for part in parts[1:]:
        left = part.gap
        while place < len(words) and not part.fits(words[place].stem):
            if words[place].stem != "not":
                left -= 1
            if left < 0:
                return 0
            place += 1
        if place >= len(words):
            return 0
        place += 1
    return place


def _apart(raw: list[Hit]) -> list[Hit]:
    raw.sort(key=lambda hit: (-abs(hit.weight), hit.end - hit.start, hit.start))
    taken: dict[str, set[int]] = {}
    kept: list[Hit] = []
    for hit in raw:
        places = taken.setdefault(f"{hit.slug}{hit.weight < 0}", set())
        span = range(hit.start, hit.end)
        if places.isdisjoint(span):
            places.update(span)
            kept.append(hit)
    return sorted(kept, key=lambda hit: (hit.first, hit.last))
