"""Training load of a week: session effort (0-10) times minutes, in arbitrary units (AU)."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from statistics import fmean, stdev

DAYS = 7


@dataclass(frozen=True)
class WeekLoad:
    """total, mean, sd and strain in AU. sd: of the sample (n - 1). monotony and strain are None
    where every day was the same, since nothing may be divided by 0."""

    total: float
    mean: float
    sd: float
    monotony: float | None
    strain: float | None


def session(effort: int | None, minutes: int | None) -> int | None:
    """Load of one workout in AU; None while effort or minutes are not known."""
    return None if effort is None or minutes is None else effort * minutes


def week(daily_loads: Sequence[float]) -> WeekLoad:
    """The load of seven days, Monday first, a day without training as 0.

    monotony = mean / sd, strain = total * monotony. Any six equal days give a monotony over 2,
    however light they were: never read it without a floor under the load.
    Raises ValueError unless there are seven numbers of at least 0.
    Source: Foster 1998, Med. Sci. Sports Exerc. 30(7):1164-1168; it leaves open which standard
    deviation is meant: the sample's is ours.
    """
    if len(daily_loads) != DAYS:
        raise ValueError(f"a week has {DAYS} days, got {len(daily_loads)}")
    if not all(isfinite(load) and load >= 0 for load in daily_loads):
        raise ValueError("a load is a number of at least 0")
    total, mean = sum(daily_loads), fmean(daily_loads)
    # Equal days differ by nothing, also where their mean cannot be written exactly.
    if len(set(daily_loads)) == 1:
        return WeekLoad(total, mean, 0.0, None, None)
    sd = stdev(daily_loads)
    monotony = mean / sd
    return WeekLoad(total, mean, sd, monotony, total * monotony)
