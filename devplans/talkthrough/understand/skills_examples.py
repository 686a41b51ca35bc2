"""What example sentences teach: which words, pairs and near pairs speak for which skill. Pure."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence

# How far a pair of words may stand apart to count as one feature.
REACH = 3
SMOOTH = 0.25


def features(stems: Sequence[str]) -> set[str]:
    """Single stems, neighbours in order, and near pairs in any order."""
    found = set(stems)
    for at, word in enumerate(stems):
        if at + 1 < len(stems):
            found.add(f"{word} {stems[at + 1]}")
        for other in stems[at + 1 : at + 1 + REACH]:
            found.add(f"{min(word, other)}+{max(word, other)}")
    return found


class Examples:
    """Log-odds of each feature for each skill against all other skills (complement counts)."""

    def __init__(self, sentences: Iterable[tuple[str, Sequence[str]]]) -> None:
        counts: dict[str, Counter[str]] = {}
        for slug, stems in sentences:
            counts.setdefault(slug, Counter()).update(features(stems))
        self.slugs = sorted(counts)
        totals = {slug: sum(counter.values()) for slug, counter in counts.items()}
        everything: Counter[str] = Counter()
        for counter in counts.values():
            everything.update(counter)
        kept = {feature for feature, count in everything.items() if count > 1 or " " not in feature}
        grand = sum(totals.values())
        size = len(everything)
        # What a feature that a skill's examples lack says against it depends on the skill alone
        # but for the size of the rest, so only seen pairs are stored.
        self._seen: dict[str, list[tuple[int, float]]] = {}
        self._absent: dict[str, float] = {}
        for feature in kept:
            total = everything[feature]
            base = math.log((SMOOTH) / (grand / len(counts) + SMOOTH * size)) - math.log(
                (total + SMOOTH) / (grand + SMOOTH * size)
            )
            rows = []
            for place, slug in enumerate(self.slugs):
                count = counts[slug].get(feature, 0)
                if count:
                    here = math.log((count + SMOOTH) / (totals[slug] + SMOOTH * size))
                    rest = math.log(
                        (total - count + SMOOTH) / (grand - totals[slug] + SMOOTH * size)
                    )
                    rows.append((place, here - rest - base))
            self._seen[feature] = rows
            self._absent[feature] = base

    def scores(self, stems: Sequence[str]) -> dict[str, float]:
        """Mean log-odds a feature, damped so that long moments do not overrule the lexicon."""
        sums = [0.0] * len(self.slugs)
        base, known = 0.0, 0
        for feature in features(stems):
            rows = self._seen.get(feature)
            if rows is None:
                continue
            known += 1
            base += self._absent[feature]
            for place, weight in rows:
                sums[place] += weight
        if not known:
            return dict.fromkeys(self.slugs, 0.0)
        scale = math.sqrt(known)
        return {slug: (base + total) / scale for slug, total in zip(self.slugs, sums, strict=True)}
