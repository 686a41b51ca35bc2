"""Sums as plain values, each share with its interval."""

from typing import Any

from devplans.stats.proportions import share, wilson_interval
from devplans.workouts import sums

WEEKS_SHOWN = 8


def counted(made: int | None, tried: int | None) -> dict[str, Any]:
    """Made of tried with its share and Wilson interval; None where nothing was tried."""
    made, tried = made or 0, tried or 0
    if not tried:
        return {"made": made, "tried": tried, "share": None, "low": None, "high": None}
    low, high = wilson_interval(made, tried)
    return {"made": made, "tried": tried, "share": share(made, tried), "low": low, "high": high}


def gym_facts(row: sums.WeekSums) -> dict[str, Any]:
    return {
        "workouts": row.workouts,
        "minutes_own": row.minutes_own,
        "minutes_organised": row.minutes_organised,
        "reps": row.reps,
        **counted(row.made, row.tried),
    }


def drill_facts(row: sums.DrillSums) -> dict[str, Any]:
    return {"drill": row.name, "reps": row.reps, **counted(row.made, row.tried)}
