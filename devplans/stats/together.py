"""Do two weekly series move together? Kendall's tau-b after straight trends are taken out.

No claim is made by default, and none that one caused the other. Two unrelated series that both
rise look linked in 23 of 100 seasons of twelve weeks, without their trends in 5; a true link of
five points for each ten reps is found in 23 of 100 (reference statistics, sections 0 and E).
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import sqrt
from operator import mul

LEAST_WEEKS = 12
LEAST_CHANCES = 20
LEVEL = 0.05
DRAWS = 4_000
SEED = 20261109

MOVED = "moved together"
NO_LINK = "no visible link"
NOT_ENOUGH = "not enough evidence yet"

Number = int | float | Fraction


@dataclass(frozen=True)
class Pair:
    """One week: chances taken and had on film, and work in the gym. number: weeks since any Monday,
    so that a week without film leaves its gap in the straight trends."""

    number: int
    made: int
    tried: int
    work: int | None


@dataclass(frozen=True)
class Link:
    """word: one of three. tau, p: None where nothing may be said. weeks: those that were looked at;
    left_out: weeks with film or gym work that lack the other, or have too few chances.
    is_constant: one of the two did not move at all, so that there is no link to speak of."""

    word: str
    tau: float | None
    p: float | None
    weeks: int
    left_out: int
    is_constant: bool = False

    @property
    def weeks_missing(self) -> int:
        """How many more such weeks it takes before anything is said."""
        return max(0, LEAST_WEEKS - self.weeks)


def link(pairs: Sequence[Pair]) -> Link:
    """Whether film and gym moved together, from weeks of at least twenty graded chances.

    Refuses ("not enough evidence yet") below twelve of them, and where one of the two never moved.
    Weeks in which more work went with a lower share are no visible link either: they are
    not what is asked.
    """
    looked_at = [p for p in pairs if p.work is not None and p.tried >= LEAST_CHANCES]
    left_out = len(pairs) - len(looked_at)
    if len(looked_at) < LEAST_WEEKS:
        return Link(NOT_ENOUGH, None, None, len(looked_at), left_out)
    weeks = [pair.number for pair in looked_at]
    film = detrended([Fraction(pair.made, pair.tried) for pair in looked_at], weeks)
    gym = detrended([pair.work or 0 for pair in looked_at], weeks)
    tau = kendall_tau(film, gym)
    if tau is None:
        return Link(NOT_ENOUGH, None, None, len(looked_at), left_out, is_constant=True)
    p = kendall_p(film, gym)
    word = MOVED if p is not None and p <= LEVEL and tau > 0 else NO_LINK
    return Link(word, tau, p, len(looked_at), left_out)


def detrended(values: Sequence[Number], at: Sequence[int] | None = None) -> list[Fraction]:
    """What is left of `values` when their least-squares line is taken out, exactly.

    at: the weeks they stand at; one after the other where left out. Exact, because rounding would
    tell apart what is equal and make ties of what is not. A single value leaves nothing.
    """
    ys = [Fraction(value) for value in values]
    xs = [Fraction(week) for week in (range(len(ys)) if at is None else at)]
    if not ys:
        return []
    middle_x, middle_y = sum(xs, Fraction()) / len(xs), sum(ys, Fraction()) / len(ys)
    spread = sum(((x - middle_x) * (x - middle_x) for x in xs), Fraction())
    products = ((x - middle_x) * (y - middle_y) for x, y in zip(xs, ys, strict=True))
    together = sum(products, Fraction())
    slope = together / spread if spread else Fraction(0)
    return [y - middle_y - slope * (x - middle_x) for x, y in zip(xs, ys, strict=True)]


def kendall_tau(xs: Sequence[Number], ys: Sequence[Number]) -> float | None:
    """Kendall's tau-b; None where one of the series is constant, or has fewer than two values.

    Source: Kendall 1945, Biometrika 33:239-251. Raises ValueError for unequal lengths.
    """
    score, x_pairs, y_pairs = _score(_signs(xs), _signs(ys)), _untied(xs), _untied(ys)
    if not x_pairs or not y_pairs:
        return None
    return score / sqrt(x_pairs * y_pairs)


def kendall_p(xs: Sequence[Number], ys: Sequence[Number]) -> float | None:
    """Two-sided p: how often chance alone gives a tau as far from 0, whichever its sign.

    Exact where nothing is tied; with ties from 4,000 permutations, the same ones each
    time. None where tau is.
    """
    count = len(xs)
    x_signs, y_signs = _signs(xs), _signs(ys)
    x_pairs, y_pairs = _untied(xs), _untied(ys)
    if not x_pairs or not y_pairs:
        return None
    score = abs(_score(x_signs, y_signs))
    if x_pairs == y_pairs == count * (count - 1) // 2:
        return exact_p(score, count)
    return _permuted_p(score, x_signs, ys)


@cache
def _orders(count: int) -> tuple[int, ...]:
    """How many orders of `count` things have 0, 1, 2 ... pairs the wrong way round."""
    ways = [1]
    for size in range(2, count + 1):
        longer = [0] * (len(ways) + size - 1)
        for wrong, number in enumerate(ways):
            for more in range(size):
                longer[wrong + more] += number
        ways = longer
    return tuple(ways)


def exact_p(score: int, count: int) -> float:
    """P(|S| >= score) for two unrelated orders of `count` without ties; S: pairs that agree, less
    those that do not. Source: Kendall 1938, Biometrika 30:81-93."""
    ways, pairs = _orders(count), count * (count - 1) // 2
    far = sum(number for wrong, number in enumerate(ways) if abs(pairs - 2 * wrong) >= score)
    return far / sum(ways)


def _permuted_p(score: int, x_signs: Sequence[int], ys: Sequence[Number]) -> float:
    """The share of permutations that are as far out, this one among them (never 0)."""
    places = {value: place for place, value in enumerate(sorted(set(ys)))}
    order, far = [places[value] for value in ys], 1
    draw = random.Random(SEED)  # noqa: S311 - no secret
    for _ in range(DRAWS):
        draw.shuffle(order)
        far += abs(sum(map(mul, x_signs, _signs(order)))) >= score
    return far / (DRAWS + 1)


def _signs(values: Sequence[Number]) -> list[int]:
    """For each pair, earlier one first: 1 up, -1 down, 0 equal."""
    return [
        (later > value) - (later < value)
        for index, value in enumerate(values)
        for later in values[index + 1 :]
    ]


def _score(x_signs: Sequence[int], y_signs: Sequence[int]) -> int:
    return sum(x * y for x, y in zip(x_signs, y_signs, strict=True))


def _untied(values: Sequence[Number]) -> int:
    return sum(map(abs, _signs(values)))
