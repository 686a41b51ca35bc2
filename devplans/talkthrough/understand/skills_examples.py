"""What example sentences teach: which words, pairs and near pairs speak for which skill. Pure."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

# How far a pair of words may stand apart to count as one feature.
REACH = 3
SMOOTH = 0.5


def features(stems: Sequence[str], kinds: Mapping[str, tuple[str, ...]]) -> set[str]:
    """Single stems and near pairs, in order or not; the same with each word's kind in its place
    ("legged it" and "sprinted" are both running)."""
    found = set(stems)
    _pairs(stems, found)
    for word in stems:
        found.update(kinds.get(word, ()))
    if not found.isdisjoint(kinds):
        _pairs([kinds[word][0] if word in kinds else word for word in stems], found)
    return found


def _pairs(words: Sequence[str], found: set[str]) -> None:
    for at, word in enumerate(words):
        ahead = words[at + 1 : at + 1 + REACH]
        if ahead:
            found.add(f"{word} {ahead[0]}")
        for other in ahead:
            found.add(f"{word}+{other}" if word < other else f"{other}+{word}")


class Examples:
    """Log-odds of each feature for each skill against all other skills (complement counts)."""

    def __init__(
        self,
        sentences: Iterable[tuple[str, Sequence[str]]],
        kinds: Mapping[str, tuple[str, ...]] | None = None,
    ) -> None:
        self._kinds = kinds or {}
        counts: dict[str, Counter[str]] = {}
        for slug, stems in sentences:
            counts.setdefault(slug, Counter()).update(features(stems, self._kinds))
        self.slugs = sorted(counts)
        where: dict[str, list[tuple[int, int]]] = {}
        for place, slug in enumerate(self.slugs):
            for feature, count in counts[slug].items():
                where.setdefault(feature, []).append((place, count))
        totals = [sum(counts[slug].values()) for slug in self.slugs]
        grand, spread = sum(totals), SMOOTH * len(where)
        mean = grand / max(1, len(totals))
        here = [math.log(total + spread) for total in totals]
        rest = [math.log(grand - total + spread) for total in totals]
        logs = [math.log(count + SMOOTH) for count in range(max(totals, default=0) * 3 + 1)]
        # Per feature: what its lack says against a skill, and for the skills that have it the
        # difference to that.
        self._known: dict[str, tuple[float, list[tuple[int, float]]]] = {}
        for feature, rows in where.items():
            total = sum(count for _, count in rows)
            if total == 1 and (" " in feature or "+" in feature):
                continue
            lack = math.log(SMOOTH / (mean + spread)) - logs[total] + math.log(grand + spread)
            self._known[feature] = (
                lack,
                [
                    (at, logs[count] - here[at] - logs[total - count] + rest[at] - lack)
                    for at, count in rows
                ],
            )

    def knows(self, stems: Sequence[str]) -> bool:
        """Whether any of the words stands in an example."""
        return any(word in self._known for word in stems)

    def scores(self, stems: Sequence[str]) -> dict[str, float]:
        """Sum of the log-odds over the root of the number of features: long moments are surer than
        short ones, but not by their length."""
        sums = [0.0] * len(self.slugs)
        base, known = 0.0, 0
        for feature in features(stems, self._kinds):
            entry = self._known.get(feature)
            if entry is None:
                continue
            known += 1
            base += entry[0]
            for place, weight in entry[1]:
                sums[place] += weight
        scale = math.sqrt(known or 1)
        return {slug: (base + total) / scale for slug, total in zip(self.slugs, sums, strict=True)}
