"""A rate from a random sample of a film's possessions: what a full count of the film would say.

The possession is the unit that is drawn, without replacement; each holds none, one or several
chances, and those of one possession resemble each other. The rate is a ratio of two totals, both
only known in the sample. How the interval is made, and why:

1. Variance of the ratio by linearisation, from the possessions that held a chance
   (Cochran 1977, Sampling Techniques, 3rd ed., section 6.4). As a number of independent chances
   with the same variance: `effective`, at most the chances that were counted.
2. From a few possessions that variance is badly known, and it is nought when all was made or all
   missed. So it is mixed with what it would be if each possession gave a single answer, which
   weighs like four further possessions; where it is unknown, that alone is taken.
3. The finite population enlarges the effective number: what is left unseen is 1 - sampled / all.
4. Wilson's interval on that number (Wilson 1927), with Student's quantile for one less than the
   possessions that held a chance: it is never without width and stays within 0 and 1.
5. Half a possession is added on both sides, because a full count moves by whole possessions.

In 2,000 draws from each of 1,320 invented films (40 to 150 possessions, samples of 10 to 60, rates
of .1 to .9, none to three chances a possession, alike or not) it held the full count in 93.9 % at
least, 99.4 % on average: wide rather than wrong. Repeat it with the soak test.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import cos, pi, sin, sqrt, tan
from statistics import NormalDist

# Possessions that the cautious guess weighs like.
CAUTION = 4
_MANY = 2_000


@cache
def student_quantile(confidence: float, freedom: int) -> float:
    """t with P(-t < T < t) = confidence for `freedom` (at least 1) degrees of freedom.

    Source: the finite sums of Abramowitz and Stegun 1964, 26.7.3 and 26.7.4, turned round by
    halving; the normal quantile beyond 2,000.
    """
    if freedom > _MANY:
        return NormalDist().inv_cdf(0.5 + confidence / 2)
    low, high = 0.0, pi / 2
    for _step in range(60):
        middle = (low + high) / 2
        if _within(middle, freedom) < confidence:
            low = middle
        else:
            high = middle
    return tan((low + high) / 2) * sqrt(freedom)


def _within(angle: float, freedom: int) -> float:
    """P(|T| < tan(angle) * sqrt(freedom))."""
    odd = freedom % 2
    term = cos(angle) if odd else 1.0
    total = term if freedom > 1 else 0.0
    for k in range(2 + odd, freedom - 1, 2):
        term *= cos(angle) ** 2 * (k - 1) / k
        total += term
    return 2 / pi * (angle + sin(angle) * total) if odd else sin(angle) * total


@dataclass(frozen=True)
class RatioEstimate:
    """A rate from `sampled` of `possessions`, and where a full count of them would lie.

    share, low, high: 0..1; share is None and the interval (0, 1) while no chance was seen.
    effective: chances that would tell as much if they were independent. answers: the same if
    each possession gave one answer. holding: sampled possessions with a chance in them.
    """

    made: int
    chances: int
    sampled: int
    possessions: int
    share: float | None
    low: float
    high: float
    effective: float
    answers: float
    holding: int
    confidence: float

    @property
    def is_complete(self) -> bool:
        """Every possession was seen: the rate is the full count, not an estimate."""
        return self.sampled == self.possessions

    def more(self, count: int = 20) -> tuple[float, float] | None:
        """The interval to expect after `count` further possessions, if they are like those seen.

        None when no chance was seen yet, or nothing is left to draw. Raises ValueError for a
        count below 1.
        """
        if count < 1:
            raise ValueError(f"at least one more possession, got {count}")
        if self.share is None or self.is_complete:
            return None
        sampled = min(self.sampled + count, self.possessions)
        growth = sampled / self.sampled
        return _interval(
            self.share,
            effective=self.effective * growth,
            answers=self.answers * growth,
            holding=round(self.holding * growth),
            unseen=1 - sampled / self.possessions,
            confidence=self.confidence,
        )


def ratio_estimate(
    counts: Sequence[tuple[int, int]], *, possessions: int, confidence: float = 0.95
) -> RatioEstimate:
    """The rate in a film of `possessions`, from (made, chances) of each one that was drawn.

    Those without a chance belong into `counts` too, as (0, 0).
    Raises ValueError for more counts than possessions, none at all, or made beyond chances.
    """
    if not 0 < len(counts) <= possessions:
        raise ValueError(f"{len(counts)} of {possessions} possessions cannot be a sample")
    if any(not 0 <= made <= chances for made, chances in counts):
        raise ValueError("made must lie between 0 and the chances of its possession")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must lie between 0 and 1, got {confidence}")
    held = [(made, chances) for made, chances in counts if chances]
    made, chances = sum(one[0] for one in held), sum(one[1] for one in held)
    unseen = 1 - len(counts) / possessions
    share = made / chances if chances else None
    low, high, answers, effective = 0.0, 1.0, 0.0, 0.0
    if share is not None:
        answers = chances**2 / sum(one[1] ** 2 for one in held)
        effective = _effective(held, share, chances, answers)
        low, high = _interval(
            share,
            effective=effective,
            answers=answers,
            holding=len(held),
            unseen=unseen,
            confidence=confidence,
        )
    return RatioEstimate(
        made, chances, len(counts), possessions, share, low, high, effective, answers, len(held),
        confidence,
    )  # fmt: skip


def _effective(
    held: Sequence[tuple[int, int]], share: float, chances: int, answers: float
) -> float:
    """Steps 1 and 2: how many independent chances would tell as much."""
    number = len(held)
    squares = sum((made - share * tried) ** 2 for made, tried in held)
    if number < 2 or squares < 1e-12:
        return answers
    variance = number / (number - 1) * squares / chances**2
    seen = min(share * (1 - share) / variance, chances)
    weight = number / (number + CAUTION)
    return 1 / (weight / seen + (1 - weight) / answers)


def _interval(
    share: float,
    *,
    effective: float,
    answers: float,
    holding: int,
    unseen: float,
    confidence: float,
) -> tuple[float, float]:
    """Steps 3 to 5. A full count has no width."""
    if unseen <= 1e-12:
        return (share, share)
    t = student_quantile(confidence, max(holding - 1, 1))
    number = effective / unseen
    wide = t * t / number
    centre = (share + wide / 2) / (1 + wide)
    half = t / (1 + wide) * sqrt(share * (1 - share) / number + wide / (4 * number))
    step = 0.5 / answers
    return (max(0.0, centre - half - step), min(1.0, centre + half + step))
