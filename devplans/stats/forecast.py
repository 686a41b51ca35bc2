"""Whether a target will be reached, if a player goes on as lately. No trend is drawn out."""

from math import exp, lgamma

from devplans.stats.proportions import check_counts, check_effect, log_beta


def chance_of(
    needed: int, left: int, *, made: int, tried: int, design_effect: float = 1.0
) -> float:
    """How probable it is to make at least `needed` of `left` further attempts, 0..1.

    made, tried: the recent attempts that tell the level; with none every level is as likely.
    design_effect: how many shots count as one, at least 1. 1.0 where nothing is needed any more,
    0.0 where more is needed than is left. Raises ValueError for counts that cannot be.
    Source: posterior predictive of the beta-binomial with a uniform prior (Spiegelhalter, Abrams
    and Myles 2004).
    """
    check_counts(made, tried)
    if left < 0:
        raise ValueError(f"no fewer than 0 attempts can be left, got {left}")
    check_effect(design_effect)
    if needed <= 0:
        return 1.0
    if needed > left:
        return 0.0
    a, b = 1 + made / design_effect, 1 + (tried - made) / design_effect
    whole = log_beta(a, b)
    total = sum(
        exp(_choose(left, y) + log_beta(a + y, b + left - y) - whole)
        for y in range(needed, left + 1)
    )
    return min(1.0, total)


def makes_needed(percent: int, attempts: int) -> int:
    """The fewest makes that are at least `percent` (a whole number, 0 to 100) of `attempts`."""
    if not 0 <= percent <= 100 or attempts < 0:
        raise ValueError(f"no share of attempts: {percent} % of {attempts}")
    return (percent * attempts + 99) // 100


def _choose(n: int, k: int) -> float:
    """Logarithm of n over k."""
    return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)
