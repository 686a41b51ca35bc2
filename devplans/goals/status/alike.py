"""How alike the tries of one session are, from the sessions of a whole squad."""

from collections.abc import Iterable, Sequence

LEAST_FREEDOM = 30


def squad_icc(periods: Iterable[Sequence[tuple[int, int]]]) -> float | None:
    """The intraclass correlation of sessions within players, 0..1; None below 30 degrees of
    freedom.

    periods: the sessions (made, tried) of each player apart, so that players who differ from one
    another do not count as sessions that do. A player with one session, or who made all or none,
    adds nothing. Source: analysis-of-variance estimator (Fleiss, Levin and Paik 2003), nested.
    """
    between = within = size = 0.0
    freedom = spare = 0
    for sessions in periods:
        held = [(made, tried) for made, tried in sessions if tried]
        made, tried = sum(m for m, _n in held), sum(n for _m, n in held)
        if len(held) < 2 or made in (0, tried):
            continue
        p = made / tried
        between += sum(n * (m / n - p) ** 2 for m, n in held)
        within += sum(m * (1 - m / n) for m, n in held)
        size += tried - sum(n * n for _m, n in held) / tried
        freedom += len(held) - 1
        spare += tried - len(held)
    if freedom < LEAST_FREEDOM or not spare:
        return None
    msb, msw, n0 = between / freedom, within / spare, size / freedom
    whole = msb + (n0 - 1) * msw
    return min(1.0, max(0.0, (msb - msw) / whole)) if whole > 0 else None
