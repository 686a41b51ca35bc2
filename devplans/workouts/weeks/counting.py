"""What was logged, workout by workout, and its sums. Shots and counted sets never twice."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, Q, Sum, When

from devplans.stats import load, weeks
from devplans.workouts.models import (
    DrillWeek,
    Shot,
    Workout,
    WorkoutQuerySet,
    WorkoutSet,
    WorkoutWeek,
)


@dataclass(frozen=True)
class Counts:
    """Sums of sets; None where nothing of the kind was logged."""

    sets: int = 0
    reps: int | None = None
    seconds: int | None = None
    made: int | None = None
    tried: int | None = None

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(
            self.sets + other.sets,
            plus(self.reps, other.reps),
            plus(self.seconds, other.seconds),
            plus(self.made, other.made),
            plus(self.tried, other.tried),
        )


@dataclass(frozen=True)
class Logged:
    """One kept workout. drills: its sets by drill, with the shots of sets that have no counts of
    their own; loose: its shots outside sets."""

    player_id: UUID
    started_at: datetime
    kind: str
    minutes: int | None
    effort: int | None
    drills: dict[UUID, Counts]
    loose: Counts

    @property
    def load(self) -> int | None:
        return load.session(self.effort, self.minutes)


def plus(left: int | None, right: int | None) -> int | None:
    """The sum of what is known; None where neither is."""
    return left if right is None else right + (left or 0)


def logged(workouts: WorkoutQuerySet) -> list[Logged]:
    """These workouts by their start. Three queries."""
    names = ("pk", "player_id", "started_at", "kind", "minutes", "effort")
    rows = list(workouts.order_by("started_at", "pk").values_list(*names))
    if not rows:
        return []
    inside = workouts.order_by().values("pk")
    drills: dict[UUID, dict[UUID, Counts]] = defaultdict(dict)
    for workout, drill, counts in [*_sets(inside), *_shots(inside)]:
        drills[workout][drill] = drills[workout].get(drill, Counts()) + counts
    found = []
    for workout, *facts in rows:
        loose = drills[workout].pop(None, Counts())
        found.append(Logged(*facts, drills=drills[workout], loose=loose))
    return found


def _sets(workouts: Any) -> Iterable[tuple[UUID, Any, Counts]]:
    rows = WorkoutSet.objects.filter(workout__in=workouts).order_by()
    rows = rows.values_list("workout_id", "drill_id").annotate(
        Count("pk"), Sum("reps"), Sum("seconds"), Sum("made"), Sum("tried")
    )
    return ((workout, drill, Counts(*sums)) for workout, drill, *sums in rows)


def _shots(workouts: Any) -> Iterable[tuple[UUID, Any, Counts]]:
    """Shots that no set has counted, by the drill of their set; None: of no set."""
    free = Q(set=None) | Q(set__tried=None)
    rows = Shot.objects.filter(free, workout__in=workouts).order_by()
    rows = rows.values_list("workout_id", "set__drill_id").annotate(
        hits=Sum(Case(When(made=True, then=1), default=0)), number=Count("pk")
    )
    return (
        (workout, drill, Counts(made=made, tried=tried)) for workout, drill, made, tried in rows
    )


def at_hand(workout: Workout) -> Logged:
    """The same of one workout that was read `with_content`. No query."""
    drills: dict[UUID | None, Counts] = defaultdict(Counts)
    uncounted: dict[UUID | None, UUID | None] = {None: None}
    for one in workout.sets.all():
        drills[one.drill_id] += Counts(1, one.reps, one.seconds, one.made, one.tried)
        if one.tried is None:
            uncounted[one.pk] = one.drill_id
    for shot in workout.shots.all():
        if shot.set_id in uncounted:
            drills[uncounted[shot.set_id]] += Counts(made=int(shot.made), tried=1)
    loose = drills.pop(None, Counts())
    return Logged(
        workout.player_id, workout.started_at, workout.kind, workout.minutes, workout.effort,
        drills=drills, loose=loose,  # type: ignore[arg-type]
    )  # fmt: skip


def week_rows(workouts: Iterable[Logged], zone: str) -> tuple[list[WorkoutWeek], list[DrillWeek]]:
    """The rows, not saved, that weeks of these workouts ask for; all of each week must be there,
    by start."""
    by_week: dict[tuple[UUID, weeks.Week], list[Logged]] = defaultdict(list)
    for one in workouts:
        by_week[(one.player_id, weeks.week_of(one.started_at, zone))].append(one)
    totals, drills = [], []
    for (player_id, (iso_year, iso_week)), rows in by_week.items():
        whose = {"player_id": player_id, "iso_year": iso_year, "iso_week": iso_week}
        totals.append(WorkoutWeek(**whose, **totals_of(rows), daily_loads=_days(rows, zone)))
        sessions = sessions_of(rows)
        drills += [
            DrillWeek(
                **whose,
                **vars(counts),
                drill_id=drill_id,
                sessions=[list(pair) for pair in sessions.get((player_id, drill_id), [])],
            )
            for (_player, drill_id), counts in drills_of(rows).items()
        ]
    return totals, drills


def totals_of(workouts: Iterable[Logged]) -> dict[str, int | None]:
    """The sums of one player's workouts, by the names of `WorkoutWeek`."""
    found: dict[str, int | None] = dict.fromkeys(
        ("minutes_own", "minutes_organised", "load", "reps", "made", "tried")
    )
    number = 0
    for one in workouts:
        number += 1
        counts = sum(one.drills.values(), one.loose)
        minutes = {f"minutes_{Workout.Kind(one.kind).value}": one.minutes, "load": one.load}
        shots = {"reps": counts.reps, "made": counts.made, "tried": counts.tried}
        for name, more in {**minutes, **shots}.items():
            found[name] = plus(found[name], more)
    return {"workouts": number, **found}


def drills_of(workouts: Iterable[Logged]) -> dict[tuple[UUID, UUID], Counts]:
    """The sums by (player, drill)."""
    found: dict[tuple[UUID, UUID], Counts] = {}
    for one in workouts:
        for drill_id, counts in one.drills.items():
            key = (one.player_id, drill_id)
            found[key] = found.get(key, Counts()) + counts
    return found


def sessions_of(workouts: Iterable[Logged]) -> dict[tuple[UUID, UUID], list[tuple[int, int]]]:
    """(made, tried) of each workout in which a drill was tried, by (player, drill)."""
    found: dict[tuple[UUID, UUID], list[tuple[int, int]]] = defaultdict(list)
    for one in workouts:
        for drill_id, counts in one.drills.items():
            if counts.tried:
                found[(one.player_id, drill_id)].append((counts.made or 0, counts.tried))
    return found


def _days(workouts: Iterable[Logged], zone: str) -> list[int]:
    found = [0] * load.DAYS
    for one in workouts:
        found[weeks.weekday_of(one.started_at, zone)] += one.load or 0
    return found
