"""The ways a roster's players may be named, and which of them a heard word is like. Pure."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from rapidfuzz.distance import OSA, JaroWinkler, Levenshtein

from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.people_short import FULL, SHORT
from devplans.talkthrough.understand.people_sounds import (
    VOWELS,
    alike,
    coarse,
    ear,
    skeleton,
    squeezed,
    weight,
)
from devplans.talkthrough.understand.people_tongues import said
from devplans.talkthrough.understand.words import folded

PARTICLES = words_in("de la del da dos das di van der den von le el al bin ibn st o mc ter")
LETTERS = {
    "a": "A", "b": "bi", "c": "si", "d": "di", "e": "i", "f": "ef", "g": "Ji", "h": "AC", "i": "Y",
    "j": "JA", "k": "kA", "l": "el", "m": "em", "n": "en", "o": "o", "p": "pi", "q": "kyu",
    "r": "ar", "s": "es", "t": "ti", "u": "yu", "v": "vi", "w": "dxbxlyu", "x": "eks", "y": "wY",
    "z": "zi",
}  # fmt: skip

# What a form is worth when it is heard exactly: a short form may be meant for somebody else.
WORTH = {"alias": 1.0, "nickname": 1.0, "full": 1.0, "first": 1.0, "last": 0.99, "part": 0.95,
         "short": 0.93, "initials": 0.9, "prefix": 0.86, "letter": 0.8}  # fmt: skip
LETTER_WORDS = {
    "bee": "b", "cee": "c", "dee": "d", "gee": "g", "jay": "j", "kay": "k", "ell": "l", "em": "m",
    "tee": "t", "vee": "v", "zee": "z", "zed": "z", "que": "q",
}  # fmt: skip
BY_EAR = ("alias", "nickname", "first", "last", "part", "short")
# From where on a word by ear is looked at: any strange word, several together, common words.
LEAST = 0.5
SEVERAL = 0.77
FIRM = 0.85


@dataclass(frozen=True)
class Form:
    """One way to name a player; text: folded, signs and spaces left out."""

    text: str
    key: str
    kind: str
    spelling: str = ""


@dataclass(frozen=True)
class Likeness:
    """How well a heard word fits one player; exact: letter by letter."""

    key: str
    score: float
    exact: bool
    kind: str
    form: str


def joined(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", folded(text))


def _parts(name: str) -> list[str]:
    return [part for part in re.split(r"[^a-z']+", folded(name)) if part]


def forms_of(player: RosterPlayer) -> set[tuple[str, str]]:
    """(spelling, kind) of everything that certainly or often names this player alone."""
    found = {(folded(one), "alias") for one in player.heard_as}
    found |= {(folded(one), "nickname") for one in player.nicknames}
    firsts, lasts = _parts(player.first), _parts(player.last)
    for kind, name, parts in (("first", player.first, firsts), ("last", player.last, lasts)):
        found.add((folded(name), kind))
        own = [part for part in parts if part not in PARTICLES]
        main = own[:1] if kind == "first" else own[-1:]
        found |= {(part, kind if part in main else "part") for part in own}
    found.add((folded(f"{player.first} {player.last}"), "full"))
    for name in {joined(player.first), *firsts, *map(joined, player.nicknames)}:
        found |= {
            (one, "short") for one in SHORT.get(name, frozenset()) | FULL.get(name, frozenset())
        }
    if firsts and lasts:
        found.add((firsts[0][0] + lasts[-1][0], "initials"))
    return {
        (text, kind) for text, kind in found if len(joined(text)) >= (1 if kind == "alias" else 2)
    }


def clippings_of(player: RosterPlayer) -> set[str]:
    """What is made of a piece of a name: Tam, Tams, Tammy, Quise for Marquise, D-Mo."""
    found: set[str] = set()
    first, last = joined(player.first), joined(player.last)
    for name, least in ((first, 3), (last, 3)):
        for length in range(least, min(len(name), 7)):
            stem = name[:length]
            doubled = stem + stem[-1] if stem[-1] not in "aeiouy" else stem
            found.add(stem)
            if length == 3 and name == last:
                continue
            found |= {stem + end for end in ("s", "y", "ie", "i", "o", "er", "ers")}
            found |= {doubled + end for end in ("y", "ie", "i", "o", "a", "er", "ers")}
    found |= {first[cut:] for cut in range(2, len(first) - 3) if first[cut] not in "aeiouy"}
    if first:
        found |= {first[0] + last[:length] for length in range(2, 6) if len(last) > length}
    return {one for one in found if one not in (first, last)}


@lru_cache(maxsize=4_000)
def _sounds(form: Form) -> tuple[str, ...]:
    if len(form.text) <= 3 and not re.search(r"[aeiouy]", form.text):
        return (squeezed("".join(LETTERS.get(sign, "") for sign in form.text)),)
    if form.kind == "alias":
        return ear(form.text)
    parts = [part for part in re.split(r"[^a-z']+", form.spelling) if part]
    whole = said(form.text)
    if len(parts) == 2:
        pieces = product(said(parts[0])[:4], said(parts[1])[:4])
        return tuple(dict.fromkeys((*whole[:8], *(squeezed(one + two) for one, two in pieces))))
    return whole


def _lessened(text: str) -> Iterable[str]:
    yield text
    if len(text) >= 3:
        for place in range(len(text)):
            yield text[:place] + text[place + 1 :]


class Forms:
    """All forms of a roster with their sounds, ready to be asked for what a word is like."""

    def __init__(self, roster: Sequence[RosterPlayer]) -> None:
        self.exact: dict[str, list[Form]] = defaultdict(list)
        self._by_skeleton: dict[str, list[tuple[str, Form]]] = defaultdict(list)
        self._by_part: dict[str, list[tuple[str, Form]]] = defaultdict(list)
        self._names: dict[str, dict[str, list[Form]]] = {}
        for player in roster:
            kinds: dict[str, list[Form]] = defaultdict(list)
            for spelling, kind in sorted(forms_of(player)):
                form = Form(joined(spelling), player.key, kind, spelling)
                kinds[kind].append(form)
                self.exact[form.text].append(form)
                if kind in BY_EAR:
                    self._remember(form)
            self._names[player.key] = kinds
        self._add_clippings(roster)
        self.likenesses = lru_cache(maxsize=100_000)(self._likenesses)
        self.beginnings = lru_cache(maxsize=20_000)(self._beginnings)

    def _remember(self, form: Form) -> None:
        for sounds in _sounds(form):
            self._by_skeleton[skeleton(sounds)].append((sounds, form))
            if form.kind != "short":
                for bones in set(_lessened(skeleton(sounds))):
                    self._by_part[bones].append((sounds, form))

    def _add_clippings(self, roster: Sequence[RosterPlayer]) -> None:
        owners: dict[str, set[str]] = defaultdict(set)
        letters: dict[str, set[str]] = defaultdict(set)
        for player in roster:
            for text in clippings_of(player):
                owners[text].add(player.key)
            for name in (player.first, *player.nicknames):
                letters[joined(name)[:1]].add(player.key)
        for word, letter in [
            *LETTER_WORDS.items(),
            *((one, one) for one in "bcdefgjklmnpqrtvwxyz"),
        ]:
            if len(letters[letter]) == 1 and word not in self.exact:
                self.exact[word].append(Form(word, next(iter(letters[letter])), "letter", word))
        for text, keys in owners.items():
            if text not in self.exact:
                self.exact[text].extend(Form(text, key, "prefix", text) for key in sorted(keys))

    def _likenesses(self, text: str, sounds: tuple[str, ...], least: float) -> tuple[Likeness, ...]:
        """Players whom a heard text (folded, joined) with these sounds may name, best first; by ear
        from `least` on."""
        best: dict[str, Likeness] = {}
        for form in self.exact.get(text, ()):
            _keep(best, Likeness(form.key, WORTH[form.kind], True, form.kind, form.text))
        for heard in sounds if least < 1 else ():
            for known, form in self._alike_in_bones(heard, least):
                score = _score(text, heard, known, form)
                if score >= least:
                    _keep(best, Likeness(form.key, score, False, form.kind, form.text))
        return tuple(sorted(best.values(), key=lambda one: (-one.score, one.key)))

    def _alike_in_bones(self, heard: str, least: float) -> Iterator[tuple[str, Form]]:
        """Forms whose consonants are nearly those heard: a quick look before the thorough one."""
        bones = skeleton(heard)
        found = dict.fromkeys(self._by_skeleton.get(bones, ()))
        if least < FIRM:
            for fewer in set(_lessened(bones)):
                found.update(dict.fromkeys(self._by_part.get(fewer, ())))
        slips = 1 if least >= FIRM else 2 if least > LEAST else 3
        rough = coarse(heard)
        for known, form in found:
            if Levenshtein.distance(rough, coarse(known), score_cutoff=slips) <= slips:
                yield known, form

    def _beginnings(self, text: str, sounds: tuple[str, ...]) -> tuple[Likeness, ...]:
        """Players whose first or last name begins with what was heard: "Pappa" for Papadakis."""
        best: dict[str, Likeness] = {}
        for kinds in self._names.values():
            for form in [*kinds["first"], *kinds["last"]]:
                for known in _sounds(form):
                    for heard in sounds:
                        if 3 <= len(heard) < len(known) and weight(heard) >= 1.9:
                            score = max(
                                alike(heard, known[: len(heard) + more]) for more in (0, -1)
                            )
                            if score >= 0.9:
                                _keep(
                                    best,
                                    Likeness(form.key, score - 0.1, False, "prefix", form.text),
                                )
        return tuple(sorted(best.values(), key=lambda one: (-one.score, one.key)))

    def near(self, key: str, kinds: tuple[str, ...], text: str, sounds: tuple[str, ...]) -> float:
        """How well a heard text fits these kinds of names of one player, 0..1."""
        best = 0.0
        for kind in kinds:
            for form in self._names[key].get(kind, ()):
                if form.text == text:
                    return 1.0
                for known in _sounds(form):
                    for heard in sounds:
                        best = max(best, _score(text, heard, known, form))
        return best


def _keep(best: dict[str, Likeness], one: Likeness) -> None:
    other = best.get(one.key)
    if other is None or (one.exact, one.score) > (other.exact, other.score):
        best[one.key] = one


def _score(text: str, heard: str, known: str, form: Form) -> float:
    sound = alike(heard, known)
    if sound < 0.45:
        return 0.0
    letters = float(JaroWinkler.similarity(text, form.text))
    score = max(sound - 0.1 * (1 - letters), 0.75 * sound + 0.25 * letters)
    if len(form.text) >= 5 and OSA.distance(text, form.text, score_cutoff=1) <= 1:
        score = max(score, 0.9 if text[0] == form.text[0] else 0.84)
    if heard == known:
        score = max(score, 0.96)
    score -= 0.03 * abs(sum(one in VOWELS for one in heard) - sum(one in VOWELS for one in known))
    if weight(known) < 2.2 and heard != known:
        score -= 0.04
    if form.kind == "short":
        score = min(score, 0.92) if score >= 0.93 else 0.0
    elif form.kind == "part":
        score -= 0.04
    return min(score, 0.98)
