"""A straight line through sessions, only to be drawn: never a forecast, never a claim of change."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist, median

LEAST_SESSIONS = 6


@dataclass(frozen=True)
class Line:
    """slope: per unit of x, with its interval low to high. intercept: the line's value at x = 0."""

    slope: float
    low: float
    high: float
    intercept: float

    def at(self, x: float) -> float:
        return self.intercept + self.slope * x


def theil_sen(xs: Sequence[float], ys: Sequence[float], *, confidence: float = 0.95) -> Line | None:
    """The median of the slopes of all pairs, and their interval by Kendall's variance.

    None for fewer than two different x. Few points give an interval without width, so a line is
    drawn from six sessions on (`drawn_line`). Source: Sen 1968, JASA 63:1379-1389.
    Raises ValueError for unequal lengths.
    """
    points = list(zip(xs, ys, strict=True))
    slopes = sorted(
        (late_y - y) / (late_x - x)
        for index, (x, y) in enumerate(points)
        for late_x, late_y in points[index + 1 :]
        if late_x != x
    )
    if not slopes:
        return None
    slope, count = median(slopes), len(slopes)
    spread = NormalDist().inv_cdf((1 + confidence) / 2) * sqrt(_variance(xs, ys))
    # One place further out than the rounded one: as printed for Sen's own data.
    low = max(0, round((count - spread) / 2) - 1)
    high = min(count - 1, round((count + spread) / 2))
    intercept = median(ys) - slope * median(xs)
    return Line(slope, slopes[low], slopes[high], intercept)


def _variance(xs: Sequence[float], ys: Sequence[float]) -> float:
    """Kendall's variance of the number of pairs that agree, less those that do not, with ties."""

    def weight(size: int) -> int:
        return size * (size - 1) * (2 * size + 5)

    tied = [
        weight(sum(one == other for other in values)) / sum(one == other for other in values)
        for values in (xs, ys)
        for one in values
    ]
    return max(0.0, weight(len(xs)) - sum(tied)) / 18


def drawn_line(shares: Sequence[float | None]) -> tuple[float, float] | None:
    """The trend's shares at the first and the last of `shares` that there is (None: a gap), held
    between 0 and 1; None below six sessions."""
    known = [(place, share) for place, share in enumerate(shares) if share is not None]
    if len(known) < LEAST_SESSIONS:
        return None
    line = theil_sen([place for place, _ in known], [share for _, share in known])
    if line is None:
        return None
    first, last = (min(1.0, max(0.0, line.at(known[end][0]))) for end in (0, -1))
    return first, last
