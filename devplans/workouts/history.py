"""The pages' view of what was logged: weeks of workouts, and sets drill by drill."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from devplans.catalogue.models import Drill
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.models import Workout, WorkoutSet
from devplans.workouts.sums import WeekSums, add_up

WEEKS_SHOWN = 8


@dataclass
class DrillLog:
    """The sets of one drill in one workout, in order."""

    drill: Drill
    sets: list[dict[str, Any]] = field(default_factory=list)

    @property
    def made(self) -> int:
        return sum(one["made"] or 0 for one in self.sets)

    @property
    def tried(self) -> int:
        return sum(one["tried"] or 0 for one in self.sets)

    @property
    def reps(self) -> int:
        return sum(one["reps"] or 0 for one in self.sets)

    @property
    def seconds(self) -> int:
        return sum(one["seconds"] or 0 for one in self.sets)


@dataclass(frozen=True)
class LoggedWeek:
    week: weeks.Week
    first: date
    last: date
    is_current: bool
    sums: WeekSums
    workouts: Sequence[Workout]


def by_drill(workout: Workout) -> list[DrillLog]:
    """The drills of a workout in the order in which they were begun. Read it `with_content`."""
    shots: dict[Any, list[bool]] = {}
    for shot in workout.shots.all():
        shots.setdefault(shot.set_id, []).append(shot.made)
    found: dict[Any, DrillLog] = {}
    for one in workout.sets.all():
        log = found.setdefault(one.drill_id, DrillLog(one.drill))
        log.sets.append(_set_row(one, shots.get(one.pk, [])))
    return list(found.values())


def _set_row(one: WorkoutSet, shots: list[bool]) -> dict[str, Any]:
    made, tried = one.made, one.tried
    if tried is None and shots:
        made, tried = sum(shots), len(shots)
    side = "" if one.side == WorkoutSet.Side.NONE else one.get_side_display()
    return {"side": side, "made": made, "tried": tried, "reps": one.reps, "seconds": one.seconds}


def free_shots(workout: Workout) -> dict[str, int]:
    """The shots that belong to no set."""
    shots = [shot.made for shot in workout.shots.all() if shot.set_id is None]
    return {"made": sum(shots), "tried": len(shots)}


def weeks_of(player: Player, last: weeks.Week, now_week: weeks.Week) -> list[LoggedWeek]:
    """The weeks that end with `last`, newest first, those without a workout too."""
    zone = player.club.zone
    shown = weeks.weeks_until(last, WEEKS_SHOWN)[::-1]
    start, end = weeks.bounds(*shown[-1], zone)[0], weeks.bounds(*last, zone)[1]
    workouts = Workout.objects.between(start, end).of_player(player.pk).with_content()
    grouped: dict[weeks.Week, list[Workout]] = {week: [] for week in shown}
    for workout in workouts.order_by("-started_at"):
        grouped[weeks.week_of(workout.started_at, zone)].append(workout)
    return [_week(week, grouped[week], is_current=week == now_week) for week in shown]


def _week(week: weeks.Week, workouts: Iterable[Workout], *, is_current: bool) -> LoggedWeek:
    first = weeks.monday(*week)
    rows = list(workouts)
    for row in rows:
        row.drill_logs = by_drill(row)  # type: ignore[attr-defined]
        row.sums = add_up([row])  # type: ignore[attr-defined]
    return LoggedWeek(week, first, first + timedelta(days=6), is_current, add_up(rows), rows)
