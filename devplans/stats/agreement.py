"""How far two people who judged the same things agree. Counts in, shares and kappa out.

A table has one row for each word of the first judge and one column for each of the second:
`table[i][j]` is how often the first said word i where the second said word j.
"""

from collections.abc import Sequence
from math import sqrt
from statistics import NormalDist
from typing import TypeAlias

Table: TypeAlias = Sequence[Sequence[int]]


def _checked(table: Table) -> int:
    """How many were judged. Raises ValueError unless the table is square and counts things."""
    if any(len(row) != len(table) for row in table):
        raise ValueError("the table must have as many columns as rows")
    if any(count < 0 for row in table for count in row):
        raise ValueError("a count cannot be negative")
    return sum(sum(row) for row in table)


def _margins(table: Table, judged: int) -> tuple[list[float], list[float]]:
    rows = [sum(row) / judged for row in table]
    columns = [sum(row[j] for row in table) / judged for j in range(len(table))]
    return rows, columns


def _by_chance(table: Table, judged: int) -> float:
    rows, columns = _margins(table, judged)
    return sum(row * column for row, column in zip(rows, columns, strict=True))


def _one_word_only(table: Table) -> bool:
    """Both used one and the same word throughout: nothing else could have happened by chance."""
    return sum(1 for row in table for count in row if count) == 1 and any(
        table[i][i] for i in range(len(table))
    )


def raw_agreement(table: Table) -> float | None:
    """Share (0..1) on which both said the same; None when nothing was judged by both."""
    judged = _checked(table)
    return sum(table[i][i] for i in range(len(table))) / judged if judged else None


def cohen_kappa(table: Table) -> float | None:
    """Agreement beyond chance: 1 is complete, 0 what chance alone gives, below 0 is less.

    None when nothing was judged by both, and when both used one word only (chance is 1 then).
    Raises ValueError for a table that is not square or holds a negative count.
    Source: Cohen 1960, Educ. Psychol. Meas. 20:37-46.
    """
    judged = _checked(table)
    if not judged or _one_word_only(table):
        return None
    seen = sum(table[i][i] for i in range(len(table))) / judged
    chance = _by_chance(table, judged)
    return (seen - chance) / (1 - chance)


def kappa_error(table: Table) -> float | None:
    """Standard error of kappa for large counts; None where kappa is.

    Source: Fleiss, Cohen and Everitt 1969, Psychol. Bull. 72:323-327.
    """
    kappa = cohen_kappa(table)
    if kappa is None:
        return None
    judged = _checked(table)
    rows, columns = _margins(table, judged)
    chance = _by_chance(table, judged)
    places = range(len(table))
    share = [[table[i][j] / judged for j in places] for i in places]
    same = sum(share[i][i] * (1 - (rows[i] + columns[i]) * (1 - kappa)) ** 2 for i in places)
    other = (1 - kappa) ** 2 * sum(
        share[i][j] * (columns[i] + rows[j]) ** 2 for i in places for j in places if i != j
    )
    variance = same + other - (kappa - chance * (1 - kappa)) ** 2
    # Rounding may leave a tiny negative number where the error is nought.
    return sqrt(max(0.0, variance) / judged) / (1 - chance)


def kappa_interval(table: Table, *, confidence: float = 0.95) -> tuple[float, float] | None:
    """(low, high) of kappa within -1..1; None where kappa is.

    Of complete agreement it has no width, however few were judged: look at the counts too.
    """
    if not 0 < confidence < 1:
        raise ValueError(f"confidence must lie between 0 and 1, got {confidence}")
    kappa, error = cohen_kappa(table), kappa_error(table)
    if kappa is None or error is None:
        return None
    half = NormalDist().inv_cdf(0.5 + confidence / 2) * error
    return (max(-1.0, kappa - half), min(1.0, kappa + half))
