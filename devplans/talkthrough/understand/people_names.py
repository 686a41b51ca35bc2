"""Guesses which words are names of players. Pure."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product

from devplans.talkthrough.understand.people_forms import FIRM, LEAST, SEVERAL, Forms, Likeness
from devplans.talkthrough.understand.people_grammar import (
    breaks,
    evidence,
    has_case,
    is_verb,
    starts_sentence,
)
from devplans.talkthrough.understand.people_parts import Guess
from devplans.talkthrough.understand.people_sounds import ear, squeezed, weight
from devplans.talkthrough.understand.people_strangers import STRANGERS
from devplans.talkthrough.understand.people_words import (
    FUNCTION,
    SELDOM,
    TRADE_NAMES,
    everyday,
    plain_english,
)
from devplans.talkthrough.understand.words import Word

MARGIN = 0.05
MOST_WORDS = 3
# Everyday words with less evidence than this are no names at all; others than that are faint ones.
FAINT_PROOF, FAINT_FUNCTION = -1.3, 0.0
FAINT_RANK = -5.0
PROOFS = (-1.5, -0.7, 0.0, 0.5, 0.9, 1.3, 1.7, 2.2)
SCORES = (0.7, 0.8, 0.86, 0.92, 0.999)


def bare(word: str) -> str:
    """Without a possessive ending."""
    return re.sub(r"('s|s')$", lambda match: "s" if match[0] == "s'" else "", word)


@lru_cache(maxsize=100_000)
def tight(folded: str) -> str:
    return re.sub(r"[^a-z0-9]", "", folded)


@lru_cache(maxsize=200_000)
def gram_sounds(words: tuple[str, ...]) -> tuple[str, ...]:
    options = [ear(tight(word))[: 3 if len(words) == 1 else 2] for word in words]
    return tuple(dict.fromkeys(squeezed("".join(one)) for one in product(*options)))[:4]


class Names:
    """One talk's words against the forms of a roster."""

    def __init__(self, words: Sequence[Word], forms: Forms) -> None:
        self.words = words
        self.forms = forms
        self.cased = has_case(words)
        self.plain = [bare(word.folded) for word in words]

    def guesses(self, bonus: dict[int, float]) -> list[Guess]:
        """Every guess, overlapping ones too. bonus: evidence from elsewhere."""
        found: list[Guess] = []
        for first in range(len(self.words)):
            for size in range(1, MOST_WORDS + 1):
                last = first + size
                if last > len(self.words) or not self._together(first, last):
                    break
                guess = self._guess(first, last, bonus.get(first, 0.0))
                if guess:
                    found.append(guess)
        return found

    def _together(self, first: int, last: int) -> bool:
        """No pause or sign inside, but for the points of initials."""
        if last - first == 1:
            return True
        spot = last - 1
        if self.plain[spot] == self.plain[spot - 1] and len(self.plain[spot]) > 1:
            return False
        initials = len(self.plain[spot - 1]) == 1 and self.words[spot - 1].after in (".", "")
        return initials or not breaks(self.words, spot)

    def capital(self, first: int) -> int:
        """1: a capital that only a name has; -1: small where names have capitals; else 0."""
        text = self.words[first].text
        if not self.cased or not text[0].isalpha():
            return 0
        if not text[0].isupper():
            return -1
        return 0 if starts_sentence(self.words, first) else 1

    def _guess(self, first: int, last: int, bonus: float) -> Guess | None:
        parts = tuple(self.plain[first:last])
        if last - first == 1:
            return self._single(first, parts[0], bonus)
        whole = self._full(first, parts) if last - first == 2 else None
        return whole or self._split(first, last, parts, bonus)

    # -- one word

    def _single(self, first: int, text: str, bonus: float) -> Guess | None:
        likes = self._likes(first, text)
        if not text[:1].isalpha():
            return None
        if (not likes or likes[0].score < 0.7) and not plain_english(text):
            likes = self.forms.beginnings(tight(text), gram_sounds((text,))) or likes
        if not likes:
            return None
        best = likes[0]
        proof = evidence(self.words, first, first + 1, verb=is_verb(text)) + bonus
        capital = self.capital(first)
        if best.exact:
            value = self._exact(best, text, proof, capital)
            likes = tuple(one for one in likes if one.exact)
        else:
            value = self._near(best, text, proof, capital)
        made = _made(first, first + 1, likes, value, best, everyday(text))
        if made is None and best.exact and self._may_be(best, text, proof, capital):
            keys = tuple(one.key for one in likes[:3])
            made = Guess(first, first + 1, keys, False, best.score, True, FAINT_RANK, True)
        return made and replace(made, traits=tuple(_traits(best, text, proof, capital)))

    def _may_be(self, best: Likeness, text: str, proof: float, capital: int) -> bool:
        """May an everyday word that hardly is a name be one?"""
        if capital < 0 or best.kind not in ("first", "last", "nickname", "alias"):
            return False
        return proof >= (FAINT_FUNCTION if text in FUNCTION else FAINT_PROOF)

    def _likes(self, first: int, text: str) -> tuple[Likeness, ...]:
        whole = tight(self.words[first].folded)
        if whole != tight(text) and any(
            form.kind in ("alias", "nickname") for form in self.forms.exact.get(whole, ())
        ):
            text = whole
        found = self._alike(text)
        if text.endswith("s") and len(text) > 3 and not plain_english(text):
            shorter = self._alike(text[:-1])
            if shorter and (
                not found or (shorter[0].exact, shorter[0].score) > (found[0].exact, found[0].score)
            ):
                return shorter
        return found

    def _alike(self, text: str) -> tuple[Likeness, ...]:
        least = 1.0 if text in FUNCTION else FIRM if plain_english(text) else LEAST
        return self.forms.likenesses(tight(text), gram_sounds((text,)), least)

    def _exact(self, best: Likeness, text: str, proof: float, capital: int) -> float:
        """2 sure, 1 perhaps, 0 no."""
        if not everyday(text):
            need = {"prefix": -0.6, "initials": -0.6, "letter": 0.9}.get(best.kind, -5.0)
            return 2.0 if proof >= need else 1.0 if best.kind != "letter" or proof >= 0.5 else 0.0
        if capital > 0:
            return 2.0 if proof > -1.6 else 1.0
        if best.kind in ("prefix", "initials", "letter"):
            return 0.0
        if capital < 0 and best.kind != "alias":
            return 0.0
        need = self._need(best.kind, text)
        return 2.0 if proof >= need else 1.0 if proof >= need - 0.5 else 0.0

    def _need(self, kind: str, text: str) -> float:
        """The evidence that an everyday word needs to be a name."""
        if kind == "alias":
            return 0.8
        if text in FUNCTION or text in TRADE_NAMES:
            return 1.7
        need = 0.7 if text in SELDOM or kind == "nickname" else 1.2
        return need if kind in ("first", "last", "nickname") else need + 0.5

    def _near(self, best: Likeness, text: str, proof: float, capital: int) -> float:
        if text in FUNCTION or len(text) < 2:
            return 0.0
        if everyday(text) and capital <= 0:
            if best.score < 0.88 or proof < 1.8 + (0.4 if capital < 0 else 0.0):
                return 0.0
            return (
                2.0 if best.score >= 0.93 and proof >= (2.0 if best.score < 0.95 else 1.8) else 1.0
            )
        if plain_english(text) and capital <= 0:
            if best.score < 0.85 or proof < 0.8:
                return 0.0
            return 2.0 if best.score >= 0.9 and proof >= 1.2 else 1.0
        need = self._likeness_needed(text, proof, capital)
        return 2.0 if best.score >= need else 1.0 if best.score >= need - 0.13 else 0.0

    def _likeness_needed(self, text: str, proof: float, capital: int) -> float:
        """How much a word that is no plain English has to sound like a name."""
        need = 0.8 - 0.05 * max(-1.0, min(2.0, proof)) + (0.04 if len(text) <= 3 else 0.0)
        if capital > 0:
            need -= 0.04
        if proof < -0.9:
            need += 0.05
        if text in STRANGERS or plain_english(text):
            need = max(need, 0.83)
        return need

    # -- several words

    def _full(self, first: int, parts: tuple[str, ...]) -> Guess | None:
        """First and last name, each only half understood."""
        if any(part in FUNCTION and len(part) < 4 for part in parts):
            return None
        sounds = gram_sounds((parts[1],))
        for like in self._likes(first, parts[0]):
            if like.kind == "last" or (like.score < 0.6 and not like.exact):
                continue
            score = self.forms.near(like.key, ("last", "part"), tight(parts[1]), sounds)
            floor = 0.9 if everyday(parts[1]) or everyday(parts[0]) else 0.62
            if score >= floor and like.score + score >= 1.35 + (floor - 0.62):
                return Guess(first, first + 2, (like.key,), True, 0.99, True, 5.0)
        return None

    def _split(self, first: int, last: int, parts: tuple[str, ...], bonus: float) -> Guess | None:
        text = tight("".join(word.folded for word in self.words[first : last - 1]) + parts[-1])
        plain = all(plain_english(part) for part in parts) and not self._capitals(first, last)
        likes = self.forms.likenesses(text, gram_sounds(parts), 0.89 if plain else SEVERAL)
        likes = tuple(one for one in likes if len(one.form) >= 3 or one.exact or one.score >= 0.95)
        if not likes:
            return None
        best = likes[0]
        if best.exact and best.kind == "alias":
            return _made(first, last, likes, 2.0, best, everyday=False)
        if best.kind == "prefix" and len(parts[0]) > 1:
            return None
        if any(part[0].isdigit() for part in parts) or self._better_alone(parts, best, first):
            return None
        proof = evidence(self.words, first, last) + bonus
        if best.kind == "initials" and not all(len(part) == 1 for part in parts):
            return None
        if best.exact:
            likes = tuple(one for one in likes if one.exact)
        return _made(first, last, likes, self._split_value(first, parts, best, proof), best, False)

    def _split_value(
        self, first: int, parts: tuple[str, ...], best: Likeness, proof: float
    ) -> float:
        odd = sum(self._odd(first + place, part) for place, part in enumerate(parts))
        score = 1.0 if best.exact else best.score
        if all(len(part) == 1 for part in parts) or best.kind == "prefix":
            return 2.0 if best.exact and proof > -0.8 else 0.0
        if odd:
            need = 0.86 - 0.03 * max(-1.0, min(2.0, proof)) + (0.02 if odd < len(parts) else 0.0)
            return 2.0 if score >= need else 1.0 if score >= need - 0.08 else 0.0
        small = weight(gram_sounds(parts)[0]) < 2.8 or all(part in FUNCTION for part in parts)
        if score < (0.93 if small else 0.9) or proof < (1.9 if small else 1.2):
            return 0.0
        return 2.0 if proof >= 1.9 or best.exact else 1.0

    def _better_alone(self, parts: tuple[str, ...], best: Likeness, first: int) -> bool:
        odd = [place for place, part in enumerate(parts) if self._odd(first + place, part)]
        tops = {place: max(self._tops(first + place, parts[place]), default=0.0) for place in odd}
        explained = all(score >= 0.8 for score in tops.values())
        for place, part in enumerate(parts):
            if part in FUNCTION and len(parts) > 1:
                continue
            for like in self._likes(first + place, part):
                if everyday(part):
                    continue
                full = like.exact and like.kind in ("first", "last", "nickname", "alias")
                if full and len(part) >= 3 and not best.exact:
                    return True
                if like.key == best.key and like.score >= best.score - 0.03:
                    return True
                if like.score > best.score + 0.04 and not best.exact and explained:
                    return True
        return False

    def _capitals(self, first: int, last: int) -> bool:
        return all(self.capital(spot) > 0 for spot in range(first, last))

    def _odd(self, spot: int, text: str) -> bool:
        return not plain_english(text) or (self.capital(spot) > 0 and text not in FUNCTION)

    def _tops(self, spot: int, text: str) -> list[float]:
        return [1.0 if like.exact else like.score for like in self._likes(spot, text)[:1]]


def _traits(best: Likeness, text: str, proof: float, capital: int) -> Iterator[str]:
    """What speaks for a name, for what is learned."""
    kind = "function" if text in FUNCTION else "everyday" if everyday(text) else "odd"
    kind = "english" if kind == "odd" and plain_english(text) else kind
    like = "exact" if best.exact else str(sum(best.score > one for one in SCORES))
    known = sum(proof > one for one in PROOFS)
    yield f"name {kind} {like}"
    yield f"name {kind} {like} capital {capital}"
    yield f"name {kind} proof {known}"
    yield f"name {kind} {best.kind}"
    yield f"like {like} proof {known}"


def _made(
    first: int, last: int, likes: Sequence[Likeness], value: float, best: Likeness, everyday: bool
) -> Guess | None:
    if value == 0.0:
        return None
    close = [one for one in likes if one.score >= best.score - MARGIN]
    keys = tuple(one.key for one in (close if best.exact else likes[:3]))
    alone = len(close) == 1
    several = last - first - 1
    firm = best.exact or (several and best.score >= 0.83)
    rank = value + (1.0 if firm else 0.0) + best.score + (0.1 if firm else -0.03) * several
    return Guess(
        first,
        last,
        keys,
        value >= 2.0 and alone,
        best.score,
        best.exact,
        rank,
        everyday,
        doubtful=value < 2.0,
    )
