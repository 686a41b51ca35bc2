"""Sums over what was logged, for many players at once, in a constant number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, F, Q, Sum, When

from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.models import Shot, Workout, WorkoutSet


@dataclass(frozen=True)
class WeekSums:
    """One player's ISO week; None where nothing of the kind was logged. load: effort x minutes."""

    workouts: int = 0
    minutes_own: int | None = None
    minutes_organised: int | None = None
    load: int | None = None
    reps: int | None = None
    made: int | None = None
    tried: int | None = None


@dataclass(frozen=True)
class DrillSums:
    """One player's sets of one drill in a span; None where nothing of the kind was logged."""

    drill_id: UUID
    slug: str
    name: str
    sets: int
    reps: int | None
    seconds: int | None
    made: int | None
    tried: int | None


def week_sums(players: Iterable[Player], iso_year: int, iso_week: int) -> dict[UUID, WeekSums]:
    """The week of each player, in his club's time zone. Raises ValueError for no such week."""
    players = list(players)
    found: dict[UUID, WeekSums] = {}
    by_zone: dict[str, list[Player]] = {}
    zones = dict(
        Player.objects.filter(pk__in=[p.pk for p in players]).values_list("pk", "club__zone")
    )
    for player in players:
        by_zone.setdefault(zones[player.pk], []).append(player)
    for zone, group in by_zone.items():
        found |= span_sums(group, *weeks.bounds(iso_year, iso_week, zone))
    return found


def span_sums(players: Iterable[Player], start: datetime, end: datetime) -> dict[UUID, WeekSums]:
    """Sums of workouts that began in [start, end): sets with their own counts, the shots of sets
    without any, and shots outside sets; no shot counts twice."""
    players = list(players)
    workouts = Workout.objects.between(start, end).filter(player__in=players)
    rows = {
        row.pop("player"): row
        for row in workouts.order_by().values("player").annotate(**_workout_sums())
    }
    sets = {row.pop("player"): row for row in _set_rows(workouts)}
    shots = {row.pop("player"): row for row in _shot_rows(workouts)}
    return {
        player.pk: _one_week(
            rows.get(player.pk, {}), sets.get(player.pk, {}), shots.get(player.pk, {})
        )
        for player in players
    }


def _workout_sums() -> dict[str, Any]:
    both = Q(minutes__isnull=False, effort__isnull=False)
    return {
        "workouts": Count("pk"),
        "minutes_own": Sum("minutes", filter=Q(kind=Workout.Kind.OWN)),
        "minutes_organised": Sum("minutes", filter=Q(kind=Workout.Kind.ORGANISED)),
        "load": Sum(F("minutes") * F("effort"), filter=both),
    }


def _set_rows(workouts: Any) -> Any:
    rows = WorkoutSet.objects.filter(workout__in=workouts).order_by()
    rows = rows.values(player=F("workout__player"))
    return rows.annotate(reps=Sum("reps"), made=Sum("made"), tried=Sum("tried"))


def _shot_rows(workouts: Any) -> Any:
    free = Q(set=None) | Q(set__tried=None)
    rows = Shot.objects.filter(free, workout__in=workouts).order_by()
    rows = rows.values(player=F("workout__player"))
    return rows.annotate(tried=Count("pk"), made=Sum(Case(When(made=True, then=1), default=0)))


def _one_week(row: dict[str, Any], sets: dict[str, Any], shots: dict[str, Any]) -> WeekSums:
    return WeekSums(
        **row,
        reps=sets.get("reps"),
        made=_plus(sets.get("made"), shots.get("made")),
        tried=_plus(sets.get("tried"), shots.get("tried")),
    )


def _plus(left: int | None, right: int | None) -> int | None:
    return left if right is None else right + (left or 0)


def add_up(workouts: Iterable[Workout]) -> WeekSums:
    """The same sums over workouts that are at hand already, read `with_content`."""
    found: dict[str, Any] = {"workouts": 0}
    for workout in workouts:
        found["workouts"] += 1
        minutes = {f"minutes_{workout.kind}": workout.minutes, "load": workout.load}
        counted = {one.pk for one in workout.sets.all() if one.tried is not None}
        for one in workout.sets.all():
            _add(found, reps=one.reps, made=one.made, tried=one.tried)
        for shot in workout.shots.all():
            if shot.set_id not in counted:
                _add(found, made=int(shot.made), tried=1)
        _add(found, **minutes)
    return WeekSums(**found)


def _add(found: dict[str, Any], **more: int | None) -> None:
    for name, number in more.items():
        if number is not None:
            found[name] = (found.get(name) or 0) + number


def drill_sums(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[DrillSums]]:
    """For each player the drills of [start, end), by name; shots of sets without counts too."""
    workouts = Workout.objects.between(start, end).filter(player__in=list(players))
    rows = WorkoutSet.objects.filter(workout__in=workouts).order_by("drill__name")
    rows = rows.values("workout__player", "drill_id", "drill__slug", "drill__name").annotate(
        count=Count("pk"),
        all_reps=Sum("reps"),
        all_seconds=Sum("seconds"),
        all_made=Sum("made"),
        all_tried=Sum("tried"),
    )
    shots = _drill_shots(workouts)
    found: dict[UUID, list[DrillSums]] = {}
    for row in rows:
        shot = shots.get((row["workout__player"], row["drill_id"]), {})
        found.setdefault(row["workout__player"], []).append(
            DrillSums(
                drill_id=row["drill_id"],
                slug=row["drill__slug"],
                name=row["drill__name"],
                sets=row["count"],
                reps=row["all_reps"],
                seconds=row["all_seconds"],
                made=_plus(row["all_made"], shot.get("made")),
                tried=_plus(row["all_tried"], shot.get("tried")),
            )
        )
    return found


def _drill_shots(workouts: Any) -> dict[tuple[UUID, UUID], dict[str, int]]:
    rows = Shot.objects.filter(workout__in=workouts, set__isnull=False, set__tried=None).order_by()
    rows = rows.values("workout__player", "set__drill_id").annotate(
        tried=Count("pk"), hits=Sum(Case(When(made=True, then=1), default=0))
    )
    return {
        (row["workout__player"], row["set__drill_id"]): {
            "made": row["hits"],
            "tried": row["tried"],
        }
        for row in rows
    }
