"""How alike the tries of one session are, from the sessions of a whole squad."""

from collections.abc import Iterable, Sequence

from devplans.stats.proportions import nested_icc

LEAST_FREEDOM = 30


def squad_icc(periods: Iterable[Sequence[tuple[int, int]]]) -> float | None:
    """The intraclass correlation of sessions within players, 0..1; None below 30 degrees of
    freedom, where the player's own sessions tell instead.

    periods: the sessions (made, tried) of each player apart.
    """
    icc, df = nested_icc(periods)
    return None if icc is None or df < LEAST_FREEDOM else min(1.0, max(0.0, icc))
