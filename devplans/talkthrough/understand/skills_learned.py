"""Which skill a text resembles, learned from texts with a skill each. Pure.

Multinomial naive Bayes on tf-idf weights of single stems and neighbouring pairs, all skills as
likely as each other (McCallum and Nigam 1998; weights as in Rennie et al. 2003, section 4). On talk
by a speaker whom it has not read it beat complement counts, nearest centroids and a linear
support vector machine on letters, which need more time and room.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

SMOOTH = 0.1


def features(stems: Sequence[str]) -> Counter[str]:
    """Single stems and neighbours, counted."""
    found = Counter(stems)
    found.update(f"{one} {other}" for one, other in pairwise(stems))
    return found


def triples(tokens: Sequence[str]) -> Counter[str]:
    """Single tokens and up to three in a row, counted."""
    found = features(tokens)
    found.update(" ".join(three) for three in zip(tokens, tokens[1:], tokens[2:], strict=False))
    return found


class Learned:
    """texts: (skill, stems) pairs, in any order. Anything else that texts are sorted by will do."""

    def __init__(
        self,
        texts: Iterable[tuple[str, Sequence[str]]],
        features: Callable[[Sequence[str]], Counter[str]] = features,
    ) -> None:
        self._features = features
        counted = [(slug, features(stems)) for slug, stems in texts]
        known: Counter[str] = Counter()
        for _, found in counted:
            known.update(found.keys())
        size = len(counted)
        self._idf = {name: math.log((1 + size) / (1 + n)) + 1 for name, n in known.items()}
        sums: dict[str, Counter[str]] = {}
        for slug, found in counted:
            of_slug = sums.setdefault(slug, Counter())
            for name, weight in self._weighted(found).items():
                of_slug[name] += weight  # type: ignore[assignment]
        self.slugs = sorted(sums)
        floor = SMOOTH * len(self._idf)
        self._base = [math.log(SMOOTH / (sum(sums[slug].values()) + floor)) for slug in self.slugs]
        self._rows: dict[str, list[tuple[int, float]]] = {}
        for place, slug in enumerate(self.slugs):
            for name, weight in sums[slug].items():
                gain = math.log((weight + SMOOTH) / SMOOTH)
                self._rows.setdefault(name, []).append((place, gain))

    def _weighted(self, found: Counter[str]) -> dict[str, float]:
        """tf-idf weights of length one; words that no text had are left out."""
        weights = {
            name: (1 + math.log(count)) * self._idf[name]
            for name, count in found.items()
            if name in self._idf
        }
        length = math.sqrt(sum(weight**2 for weight in weights.values()))
        return {name: weight / length for name, weight in weights.items()} if length else {}

    def knows(self, stems: Sequence[str]) -> bool:
        """Did any text have one of these words?"""
        return any(name in self._idf for name in stems)

    def scores(self, stems: Sequence[str]) -> dict[str, float]:
        """Log-likelihood of each skill, above the mean of all; all 0 where no word is known."""
        weights = self._weighted(self._features(stems))
        if not weights:
            return dict.fromkeys(self.slugs, 0.0)
        whole = sum(weights.values())
        sums = [base * whole for base in self._base]
        for name, weight in weights.items():
            for place, gain in self._rows.get(name, ()):
                sums[place] += weight * gain
        mean = sum(sums) / len(sums)
        return {slug: one - mean for slug, one in zip(self.slugs, sums, strict=True)}
