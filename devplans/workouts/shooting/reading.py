"""What the page of shots shows, in a constant number of queries however many there are."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from devplans.catalogue.models import Drill
from devplans.people import lookups
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.models import Shot, Workout, WorkoutSet
from devplans.workouts.shooting import counts
from devplans.workouts.shooting.counts import Counted, Line, SpotTable, Taken, WeekLine

SPANS = {"4": 4, "12": 12, "season": 53}
DRAWN = 100


@dataclass(frozen=True)
class Choice:
    """What the reader asked for; empty text is everything. drill: the key of one."""

    span: str = "4"
    kind: str = ""
    drill: UUID | None = None
    side: str = ""


@dataclass(frozen=True)
class ShotLog:
    """`drawn`: the latest shots inside the half court. `beyond`: those outside of it, which are in
    the tables and never drawn. `placeless`: tried in sets without places.

    `any_at_all`: was a shot ever logged, whatever is chosen now?
    """

    total: Line
    zones: list[Line]
    points: list[Line]
    spots: list[SpotTable]
    drills: list[Line]
    weeks: list[WeekLine]
    drawn: list[Taken]
    placed: int
    beyond: int
    placeless: int
    names: Mapping[str, str]
    choices: list[Drill]
    any_at_all: bool


def read(player: Player, choice: Choice, now: datetime) -> ShotLog:
    zone, rules = player.club.zone, player.club.rule_set
    this_week = weeks.week_of(now, zone)
    shown = _weeks_shown(player, choice.span, this_week)
    span = (weeks.bounds(*shown[-1], zone)[0], weeks.bounds(*this_week, zone)[1])
    shots, sets = _shots(player, span, choice), _sets(player, span, choice)
    choices = list(_drills_shot(player))
    inside = [shot for shot in shots if _is_drawn(shot, rules)]
    return ShotLog(
        total=counts.total(shots, sets),
        zones=counts.by_zone(shots, rules),
        points=counts.by_points(shots, rules),
        spots=counts.by_spot(shots, rules),
        drills=counts.by_drill(shots, sets),
        weeks=counts.by_week(shots, sets, shown, this_week),
        drawn=inside[-DRAWN:],
        placed=len(shots),
        beyond=len(shots) - len(inside),
        placeless=sum(one.tried for one in sets),
        names={drill.slug: drill.name for drill in choices},
        choices=choices,
        any_at_all=bool(choices) or bool(shots) or _has_free_shot(player),
    )


def _is_drawn(shot: Taken, rules: str) -> bool:
    return counts.zone_of(shot, rules) not in {"out", "backcourt"}


def _weeks_shown(player: Player, span: str, this_week: weeks.Week) -> list[weeks.Week]:
    """The current week first. A season goes back to its first day, at most a year."""
    first = None
    if span == "season" and (squads := lookups.squads_of(player)):
        first = weeks.week_of(
            weeks.local_start(squads[0].season.starts_on, player.club.zone), player.club.zone
        )
    shown = [this_week]
    while len(shown) < SPANS[span] and (first is None or shown[-1] > first):
        shown.append(weeks.previous_week(shown[-1]))
    return shown


def _chosen(choice: Choice, *, to_set: str) -> Q:
    """to_set: the path from the row to its set, with its underscores."""
    wanted = Q()
    if choice.kind:
        wanted &= Q(workout__kind=choice.kind)
    if choice.drill:
        wanted &= Q(**{f"{to_set}drill": choice.drill})
    if choice.side:
        wanted &= Q(**{f"{to_set}side": choice.side})
    return wanted


def _of_span(player: Player, span: tuple[datetime, datetime]) -> QuerySet[Workout]:
    return Workout.objects.between(*span).of_player(player.pk)


def _shots(player: Player, span: tuple[datetime, datetime], choice: Choice) -> list[Taken]:
    """Oldest first."""
    rows = Shot.objects.filter(
        _chosen(choice, to_set="set__"), workout__in=_of_span(player, span)
    ).order_by("workout__started_at", "workout", "position")
    return [
        Taken(x, y, made, drill or "", week)
        for x, y, made, drill, week in _in_weeks(
            rows.values_list("x_mm", "y_mm", "made", "set__drill__slug", "workout__started_at"),
            player.club.zone,
        )
    ]


def _sets(player: Player, span: tuple[datetime, datetime], choice: Choice) -> list[Counted]:
    """Sets with counts and no shots; the shots of the others are counted already."""
    rows = WorkoutSet.objects.filter(
        _chosen(choice, to_set=""), workout__in=_of_span(player, span), tried__gt=0, shots=None
    ).order_by()
    return [
        Counted(made, tried, drill, week)
        for made, tried, drill, week in _in_weeks(
            rows.values_list("made", "tried", "drill__slug", "workout__started_at"),
            player.club.zone,
        )
    ]


def _in_weeks(rows: Any, zone: str) -> list[tuple[Any, ...]]:
    """The rows with their last value, a time, as its week; each time is looked up once."""
    known: dict[datetime, weeks.Week] = {}
    found = []
    for *values, started_at in rows:
        if started_at not in known:
            known[started_at] = weeks.week_of(started_at, zone)
        found.append((*values, known[started_at]))
    return found


def _drills_shot(player: Player) -> QuerySet[Drill]:
    """The drills of which the player ever logged tries, by name."""
    kept = Workout.objects.kept().of_player(player.pk)
    sets = WorkoutSet.objects.filter(workout__in=kept)
    with_shots = Shot.objects.filter(workout__in=kept).values("set")
    counted = sets.filter(Q(tried__gt=0) | Q(pk__in=with_shots))
    return Drill.objects.filter(pk__in=counted.values("drill")).order_by("name", "pk")


def _has_free_shot(player: Player) -> bool:
    kept = Workout.objects.kept().of_player(player.pk)
    return Shot.objects.filter(workout__in=kept, set=None).exists()


def tables(log: ShotLog) -> Sequence[tuple[str, list[Line]]]:
    """Every table of the page under a name, for a file."""
    spots = [(f"spot {table.drill}", table.lines) for table in log.spots]
    weeks_with_shots: list[Line] = [line for line in log.weeks if line.tried or line.is_current]
    return [
        ("zone", [*log.zones, *log.points]),
        *spots,
        ("drill", log.drills),
        ("week", weeks_with_shots),
        ("all", [log.total]),
    ]
