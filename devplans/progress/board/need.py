"""What a squad should practise next, from how often it takes its chances on film. Pure.

A skill is one coach's count of whole films, one (made, tried) for each film, (0, 0) where it never
came up. Chances of one film are alike, so they count for less than as many on different days.

The need of a skill is the number of chances a film that are lost against its target even if the
squad is as good as its count allows: chances a film * (target - upper end of the interval). So a
skill with a worse count and the same evidence never stands lower, and what is claimed is never
more than what was counted. Below `LEAST_TRIED` chances or `LEAST_FILMS` films nothing is claimed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil
from statistics import NormalDist
from typing import Literal, TypeAlias

from devplans.stats.change import LEAST_SESSIONS, LEAST_TRIED, design_effect
from devplans.stats.proportions import check_counts, nested_icc, score_interval

Count: TypeAlias = tuple[int, int]
Standing = Literal["below", "open", "there", "thin"]

LEAST_FILMS = LEAST_SESSIONS
# With fewer degrees of freedom Student's t takes the place of the normal quantile.
ENOUGH_DF = 30
TAIL = 0.975


@dataclass(frozen=True)
class Alike:
    """How alike the chances of one film are (0..1), and the degrees of freedom that tell it; None
    where nothing does."""

    icc: float | None
    df: int


@dataclass(frozen=True)
class Need:
    """One skill of a squad. low, high, target: shares 0..1; low and high None below the least
    numbers. a_film: chances a film. lost: chances a film that are surely lost against the target.
    more_tried, more_films: what is missing to the least numbers, 0 where nothing is."""

    made: int
    tried: int
    films: int
    target: float
    standing: Standing
    low: float | None = None
    high: float | None = None
    a_film: float = 0.0
    lost: float = 0.0
    more_tried: int = 0
    more_films: int = 0

    @property
    def order(self) -> tuple[float, float]:
        """The least first: what is surely lost, then how near the count is to showing a loss."""
        return -self.lost, (1.0 if self.high is None else self.high) - self.target


def alike(skills: Iterable[Sequence[Count]]) -> Alike:
    """How alike the chances of one film are, pooled over the skills of a squad.

    Below 0 counts as 0. The same estimator as for goals, but kept below 30 degrees of freedom, with
    Student's t: by the films of one skill alone a worse count could stand lower.
    """
    icc, df = nested_icc(skills)
    if not df:
        return Alike(None, 0)
    # Without two chances on any film it says nothing, and makes no difference.
    return Alike(min(1.0, max(0.0, icc or 0.0)), df)


def need(films: Sequence[Count], *, target: float, alike: Alike) -> Need:
    """What is known of one skill against `target` (0..1), by `films` of one coach.

    alike: of all skills of the squad. Raises ValueError for counts that cannot be.
    """
    held = _held(films)
    made, tried = sum(y for y, _ in held), sum(n for _, n in held)
    missing = max(0, LEAST_FILMS - len(held))
    if not missing and alike.icc is None:
        # Every count is 0 or all: one more film may tell how much films differ.
        missing = 1
    more = max(0, LEAST_TRIED - tried)
    if tried and more:
        missing = max(missing, ceil(more * len(films) / tried))
    if missing or more or alike.icc is None:
        return Need(
            made, tried, len(films), target, "thin",
            more_tried=more, more_films=max(1, missing),
        )  # fmt: skip
    effect = design_effect(held, alike.icc)
    low, high = score_interval(made / tried, tried / effect, quantile(alike.df))
    a_film = tried / len(films)
    return Need(
        made, tried, len(films), target, _standing(low, high, target), low, high, a_film,
        a_film * max(0.0, target - high),
    )  # fmt: skip


def quantile(df: int) -> float:
    """Of the two-sided 95 % interval: Student's below `ENOUGH_DF` degrees of freedom."""
    if df >= ENOUGH_DF:
        return NormalDist().inv_cdf(TAIL)
    from scipy.special import stdtrit  # takes half a second, which few processes need

    return float(stdtrit(df, TAIL))


def _standing(low: float, high: float, target: float) -> Standing:
    if high < target:
        return "below"
    return "there" if low >= target else "open"


def _held(films: Sequence[Count]) -> list[Count]:
    """The films in which the skill came up."""
    for made, tried in films:
        check_counts(made, tried)
    return [(made, tried) for made, tried in films if tried]
