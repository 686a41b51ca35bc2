"""How much of a drill was done, in the unit that a target asks for."""

from typing import Protocol

from devplans.catalogue.models import Drill
from devplans.goals.models import PlanItem


class Summed(Protocol):
    """Sums of sets; None where nothing of the kind was logged."""

    @property
    def sets(self) -> int: ...
    @property
    def reps(self) -> int | None: ...
    @property
    def made(self) -> int | None: ...
    @property
    def tried(self) -> int | None: ...


def done_of(target_in: str, drill: Drill, row: Summed | None) -> int:
    """How much of a target in makes, tries or reps was done."""
    if row is None:
        return 0
    if target_in == PlanItem.Target.MAKES:
        return row.made or 0
    if target_in == PlanItem.Target.TRIES:
        return row.tried or 0
    return reps_of(drill, row)


def reps_of(drill: Drill, row: Summed) -> int:
    """Reps of a drill: a try where makes are counted, a hold where seconds are."""
    if drill.counts == Drill.Counts.MAKES:
        return (row.tried or 0) + (row.reps or 0)
    if drill.counts == Drill.Counts.SECONDS:
        return row.sets
    return row.reps or 0
