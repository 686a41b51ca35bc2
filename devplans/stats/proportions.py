"""Shares of attempts and how far they can be trusted. Counts in, shares (0..1) out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import lgamma, sqrt
from statistics import NormalDist

# How many attempts the squad's mean weighs while too little tells (our own choice), and how far
# the data may move it.
USUAL, LEAST, MOST = 40.0, 15.0, 150.0
# Players with so many attempts each, before their spread is believed.
PLAYERS, ATTEMPTS = 8, 20


def check_counts(made: int, tried: int) -> None:
    """Raises ValueError unless 0 <= made <= tried."""
    if not 0 <= made <= tried:
        raise ValueError(f"made must lie between 0 and tried, got {made} of {tried}")


def check_confidence(confidence: float) -> None:
    """Raises ValueError unless it lies strictly between 0 and 1."""
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must lie between 0 and 1, got {confidence}")


def check_effect(design_effect: float) -> None:
    """Raises ValueError unless at least one shot counts as one."""
    if not design_effect >= 1:
        raise ValueError(f"a design effect is at least 1, got {design_effect}")


def log_beta(a: float, b: float) -> float:
    """Logarithm of the beta function."""
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def share(made: int, tried: int) -> float | None:
    """Share made, 0..1; None when nothing was tried, which is not the same as 0.

    Raises ValueError unless 0 <= made <= tried.
    """
    check_counts(made, tried)
    return made / tried if tried else None


def wilson_interval(made: int, tried: int, *, confidence: float = 0.95) -> tuple[float, float]:
    """Score interval for a share: (low, high) in 0..1; (0, 1) when nothing was tried.

    confidence: two-sided, strictly between 0 and 1.
    Raises ValueError unless 0 <= made <= tried.
    Source: Wilson 1927, J. Am. Stat. Assoc. 22:209-212.
    """
    check_counts(made, tried)
    check_confidence(confidence)
    if not tried:
        return (0.0, 1.0)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    return score_interval(made / tried, tried, z)


def score_interval(p: float, n: float, z: float) -> tuple[float, float]:
    """Wilson's interval for a share `p` of `n` attempts, which a design effect may have made
    fewer and broken; z: quantile for the confidence."""
    width = 1 + z * z / n
    centre = (p + z * z / (2 * n)) / width
    half = z / width * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    # The ends are exact in algebra but not in floating point.
    low = 0.0 if p == 0 else max(0.0, centre - half)
    high = 1.0 if p == 1 else min(1.0, centre + half)
    return (low, high)


@dataclass(frozen=True)
class Shrunk:
    """mean: the squad's share, None when nothing was tried. kappa: the weight of that mean in
    attempts, 0 where nothing was drawn anywhere. estimates: a share for each player, in the order
    given."""

    mean: float | None
    kappa: float
    estimates: tuple[float | None, ...]
    counts: tuple[tuple[int, int], ...]

    def interval(self, place: int, *, confidence: float = 0.95) -> tuple[float, float]:
        """Of the player at `place`: quantiles of the posterior; (0, 1) when nothing is known."""
        check_confidence(confidence)
        if self.mean is None or not self.kappa:
            return (0.0, 1.0)
        made, tried = self.counts[place]
        a = made + self.mean * self.kappa
        b = tried - made + (1 - self.mean) * self.kappa
        if not a or not b:
            return (0.0, 1.0)
        from scipy.special import betaincinv  # takes half a second, which few processes need

        tail = (1 - confidence) / 2
        return float(betaincinv(a, b, tail)), float(betaincinv(a, b, 1 - tail))


def shrink(counts: Sequence[tuple[int, int]], *, kappa: float | None = None) -> Shrunk:
    """Draw each player's share toward the squad's, the more the fewer attempts he has.

    counts: (made, tried) per player. kappa: the weight of the squad's mean in attempts; without it
    40, or, where eight players have 20 attempts each, what their spread tells (15 to 150). A squad
    of one is not drawn anywhere. Raises ValueError for counts that cannot be.
    Source: empirical Bayes of the beta-binomial; spread by the analysis-of-variance estimator.
    """
    for made, tried in counts:
        check_counts(made, tried)
    if kappa is not None and not kappa > 0:
        raise ValueError(f"a weight is more than 0, got {kappa}")
    held = tuple((made, tried) for made, tried in counts)
    tried_in_all = sum(tried for _, tried in held)
    if not tried_in_all:
        return Shrunk(None, 0.0, tuple(None for _ in held), held)
    mean = sum(made for made, _ in held) / tried_in_all
    if len(held) == 1:
        return Shrunk(mean, 0.0, (mean,), held)
    weight = kappa if kappa is not None else usual_weight(held)
    estimates = tuple((made + mean * weight) / (tried + weight) for made, tried in held)
    return Shrunk(mean, weight, estimates, held)


def usual_weight(counts: Sequence[tuple[int, int]]) -> float:
    """The weight of the squad's mean, in attempts, where none is given."""
    if sum(tried >= ATTEMPTS for _, tried in counts) < PLAYERS:
        return USUAL
    icc = anova_icc(counts)
    if icc is None:
        return USUAL
    return min(MOST, max(LEAST, 1 / icc - 1)) if icc > 0 else MOST


def anova_icc(counts: Sequence[tuple[int, int]]) -> float | None:
    """How alike the attempts of one group are, for groups of unequal size; below 0 where they are
    less alike than chance has it. None where nothing varies or fewer than two groups have attempts.
    Source: analysis-of-variance estimator (Fleiss, Levin and Paik 2003)."""
    return nested_icc([counts])[0]


def nested_icc(periods: Iterable[Sequence[tuple[int, int]]]) -> tuple[float | None, int]:
    """(icc, df): how alike the attempts of one session are, and the degrees of freedom that tell
    it; below 0 where they are less alike than chance has it. None where nothing tells.

    periods: the sessions (made, tried) of each player, or of each skill, apart: that these differ
    from one another does not make their sessions differ. One with a single session, or all made, or
    none, adds nothing. Raises ValueError for counts that cannot be.
    Source: analysis-of-variance estimator (Fleiss, Levin and Paik 2003), nested.
    """
    between = within = size = 0.0
    df = spare = 0
    for sessions in periods:
        for made, tried in sessions:
            check_counts(made, tried)
        held = [(made, tried) for made, tried in sessions if tried]
        made, tried = sum(m for m, _n in held), sum(n for _m, n in held)
        if len(held) < 2 or made in (0, tried):
            continue
        p = made / tried
        between += sum(n * (m / n - p) ** 2 for m, n in held)
        within += sum(m * (1 - m / n) for m, n in held)
        size += tried - sum(n * n for _m, n in held) / tried
        df += len(held) - 1
        spare += tried - len(held)
    if not df or not spare:
        return None, df
    msb, msw, n0 = between / df, within / spare, size / df
    whole = msb + (n0 - 1) * msw
    return ((msb - msw) / whole if whole else None), df
