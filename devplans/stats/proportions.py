"""Shares of attempts and how far they can be trusted. Counts in, shares (0..1) out."""

from math import sqrt
from statistics import NormalDist


def _check_counts(made: int, tried: int) -> None:
    if not 0 <= made <= tried:
        raise ValueError(f"made must lie between 0 and tried, got {made} of {tried}")


def share(made: int, tried: int) -> float | None:
    """Share made, 0..1; None when nothing was tried, which is not the same as 0.

    Raises ValueError unless 0 <= made <= tried.
    """
    _check_counts(made, tried)
    return made / tried if tried else None


def wilson_interval(made: int, tried: int, *, confidence: float = 0.95) -> tuple[float, float]:
    """Score interval for a share: (low, high) in 0..1; (0, 1) when nothing was tried.

    confidence: two-sided, strictly between 0 and 1.
    Raises ValueError unless 0 <= made <= tried.
    Source: Wilson 1927, J. Am. Stat. Assoc. 22:209-212.
    """
    _check_counts(made, tried)
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must lie between 0 and 1, got {confidence}")
    if not tried:
        return (0.0, 1.0)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    p = made / tried
    width = 1 + z * z / tried
    centre = (p + z * z / (2 * tried)) / width
    half = z / width * sqrt(p * (1 - p) / tried + z * z / (4 * tried * tried))
    # The ends are exact in algebra but not in floating point.
    low = 0.0 if made == 0 else max(0.0, centre - half)
    high = 1.0 if made == tried else min(1.0, centre + half)
    return (low, high)
