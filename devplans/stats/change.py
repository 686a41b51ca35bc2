"""Whether a share has changed between two periods, and how much more it takes to know.

A period is a list of sessions, each (made, tried); shots of one session are alike, so they count
for less than as many shots on different days.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, log, sqrt
from statistics import NormalDist
from typing import Literal, TypeAlias

from devplans.stats.proportions import (
    check_confidence,
    check_counts,
    check_effect,
    log_beta,
    score_interval,
)

Count: TypeAlias = tuple[int, int]
Interval: TypeAlias = tuple[float, float]
Word = Literal["up", "down", "same", "not enough evidence yet"]

# Below these a period says nothing, whatever its interval (our own choice).
LEAST_TRIED, LEAST_SESSIONS = 20, 3
# "Same" is said where the whole interval lies this near to no change (our own choice).
NEAR = 0.10
# Attempts in each of two periods that show 40 % against 50 % with 80 % power at the 5 % level are
# 388 (Fleiss, Levin and Paik 2003, pooled form without correction); half of it is what n1 * n2 /
# (n1 + n2) has to reach.
WORTH_OF_TEN_POINTS = 194


@dataclass(frozen=True)
class Claim:
    """low, high: interval of the difference (after - before) in -1..1, None where a period is
    empty. more_needed: further attempts in the recent period that would show ten points; None where
    a claim is made, and where the starting point is too small for any number to do."""

    word: Word
    low: float | None
    high: float | None
    more_needed: int | None


def newcombe_interval(
    before: Count, after: Count, *, design_effect: float = 1.0, confidence: float = 0.95
) -> Interval | None:
    """Interval for the difference of two shares, after - before, in -1..1.

    before, after: (made, tried). None where nothing was tried in one of them. design_effect: how
    many shots count as one, at least 1. Raises ValueError for counts that cannot be.
    Source: Newcombe 1998, Stat. Med. 17:873-890, method 10.
    """
    check_confidence(confidence)
    check_effect(design_effect)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    return _hybrid(before, after, (design_effect, design_effect), z)


def probability_higher(before: Count, after: Count) -> float:
    """How probable it is that the level behind `after` lies above that behind `before`, 0..1.

    Uniform priors. It is no claim: .88 goes together with an interval that spans 0.
    Source: Miller 2015, closed form for two beta distributions with whole parameters.
    """
    for made, tried in (before, after):
        check_counts(made, tried)
    a, b = before[0] + 1, before[1] - before[0] + 1
    c, d = after[0] + 1, after[1] - after[0] + 1
    total = sum(
        exp(log_beta(a + i, b + d) - log(d + i) - log_beta(1 + i, d) - log_beta(a, b))
        for i in range(c)
    )
    return min(1.0, total)


def overdispersion(*periods: Sequence[Count]) -> tuple[float | None, int]:
    """(phi, df): how much more sessions differ than chance alone would have it, Pearson's; 1 is
    chance. A period adds its sessions less one, or nothing where its share is 0 or 1. phi is None
    without a degree of freedom."""
    square, df = 0.0, 0
    for sessions in map(_held, periods):
        made, tried = _sum(sessions)
        if len(sessions) < 2 or made in (0, tried):
            continue
        p = made / tried
        square += sum((y - n * p) ** 2 / (n * p * (1 - p)) for y, n in sessions)
        df += len(sessions) - 1
    return (square / df if df else None), df


def design_effect(sessions: Sequence[Count], icc: float) -> float:
    """How many shots count as one, 1 + (m - 1) * icc, with m the attempts that an attempt's own
    session holds on average (Kish 1965)."""
    if not 0 <= icc <= 1:
        raise ValueError(f"an intraclass correlation lies between 0 and 1, got {icc}")
    tried = [n for _, n in _held(sessions)]
    if not tried:
        return 1.0
    return max(1.0, 1 + (sum(n * n for n in tried) / sum(tried) - 1) * icc)


def claim(
    before_sessions: Sequence[Count],
    after_sessions: Sequence[Count],
    *,
    icc: float | None = None,
    confidence: float = 0.95,
) -> Claim:
    """What may be said of the change from one period to the next.

    icc: how alike the shots of one session are (0..1), from many sessions of a squad. Without it
    the player's own sessions tell, with Student's t in place of the normal quantile. With k planned
    reviews use confidence 1 - 0.05 / k. Raises ValueError for counts that cannot be.
    Source: Newcombe 1998, method 10, with a design effect (Kish 1965); the least numbers of
    attempts and sessions are our own choice.
    """
    check_confidence(confidence)
    before, after = _sum(before_sessions), _sum(after_sessions)
    effects, quantile = _effects(before_sessions, after_sessions, icc, confidence)
    found = _hybrid(before, after, effects or (1.0, 1.0), quantile)
    if found is None:
        return Claim("not enough evidence yet", None, None, _more(before, after, 1.0))
    low, high = found
    gated = effects is None or not (_enough(before_sessions) and _enough(after_sessions))
    word = "not enough evidence yet" if gated else _read(low, high)
    more = None
    if word == "not enough evidence yet":
        whole = [*before_sessions, *after_sessions]
        more = _more(
            before, after, design_effect(whole, icc) if icc is not None else max(effects or (1.0,))
        )
    return Claim(word, low, high, more)


def _effects(
    before: Sequence[Count], after: Sequence[Count], icc: float | None, confidence: float
) -> tuple[tuple[float, float] | None, float]:
    """Both design effects and the quantile; no effects where nothing tells how alike shots are."""
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    if icc is not None:
        return (design_effect(before, icc), design_effect(after, icc)), z
    phi, df = overdispersion(before, after)
    if phi is None:
        return None, z
    from scipy.special import stdtrit  # takes half a second, which few processes need

    own = max(1.0, phi)
    return (own, own), float(stdtrit(df, 0.5 + confidence / 2))


def _hybrid(
    before: Count, after: Count, effects: tuple[float, float], quantile: float
) -> Interval | None:
    for made, tried in (before, after):
        check_counts(made, tried)
    if not before[1] or not after[1]:
        return None
    p1, p2 = before[0] / before[1], after[0] / after[1]
    low1, high1 = score_interval(p1, before[1] / effects[0], quantile)
    low2, high2 = score_interval(p2, after[1] / effects[1], quantile)
    difference = p2 - p1
    return (
        difference - sqrt((p2 - low2) ** 2 + (high1 - p1) ** 2),
        difference + sqrt((high2 - p2) ** 2 + (p1 - low1) ** 2),
    )


def _read(low: float, high: float) -> Word:
    if low > 0:
        return "up"
    if high < 0:
        return "down"
    return "same" if low >= -NEAR and high <= NEAR else "not enough evidence yet"


def _more(before: Count, after: Count, effect: float) -> int | None:
    """How many more attempts the recent period needs to show ten points."""
    worth, start = WORTH_OF_TEN_POINTS * effect, before[1]
    if start <= worth:
        return None
    return max(0, ceil(worth * start / (start - worth)) - after[1])


def _held(sessions: Sequence[Count]) -> list[Count]:
    """The sessions in which something was tried."""
    for made, tried in sessions:
        check_counts(made, tried)
    return [(made, tried) for made, tried in sessions if tried]


def _sum(sessions: Sequence[Count]) -> Count:
    held = _held(sessions)
    return sum(made for made, _ in held), sum(tried for _, tried in held)


def _enough(sessions: Sequence[Count]) -> bool:
    return len(_held(sessions)) >= LEAST_SESSIONS and _sum(sessions)[1] >= LEAST_TRIED
