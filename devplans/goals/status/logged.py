"""What was logged for many goals at once: week rows of drills, sets held against a mark, shots by
zone. A constant number of queries, however many goals and players."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Case, Count, Q, Sum, When

from devplans.goals.counts import reps_of
from devplans.goals.models import Goal
from devplans.goals.status.parts import Session
from devplans.goals.status.shares import monday_of
from devplans.stats import weeks
from devplans.workouts.models import DrillWeek, Shot, Workout, WorkoutSet
from devplans.workouts.shooting.counts import Taken, zone_of
from devplans.workouts.weeks import counting

WEEK = timedelta(weeks=1)
# How far back a squad's sessions tell how alike the tries of one are.
SQUAD_WEEKS = 12
# A zone is told of a shot without its week.
ANY_WEEK = (1, 1)


@dataclass(frozen=True)
class Span:
    """From which day to which day a goal's sessions matter, both included. cuts: days on which a
    window begins in between."""

    goal: Goal
    since: date
    until: date
    cuts: tuple[date, ...] = ()

    @property
    def zone(self) -> str:
        return str(self.goal.player.club.zone)


@dataclass
class Drilled:
    """Sessions and reps by (player, drill); of drill None: all reps of the player."""

    sessions: dict[tuple[UUID, UUID], list[Session]] = field(
        default_factory=lambda: defaultdict(list)
    )
    reps: dict[tuple[UUID, UUID | None], dict[date, int]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(int))
    )


def of_drills(spans: Sequence[Span], mates: Iterable[UUID], today: date) -> Drilled:
    """From the week rows; in the weeks in which a goal begins or ends, from the workouts, by day.

    The sessions of other weeks stand on their Monday. mates: whose sessions are wanted of late.
    """
    found = Drilled()
    wanted = [one for one in spans if one.goal.measure in _BY_WEEK]
    if not wanted:
        return found
    edges = _edges(wanted)
    by_day = {(player, monday) for _zone, monday, players in edges for player in players}
    rows = _week_rows(wanted, mates, today).select_related("drill")
    for row in rows:
        monday = date.fromisocalendar(row.iso_year, row.iso_week, 1)
        found.reps[row.player_id, row.drill_id][monday] += reps_of(row.drill, row)
        found.reps[row.player_id, None][monday] += row.reps or 0
        if (row.player_id, monday) not in by_day:
            found.sessions[row.player_id, row.drill_id] += [
                Session(monday, made, tried) for made, tried in row.sessions
            ]
    for player, drill, session in _by_day(edges):
        found.sessions[player, drill].append(session)
    for sessions in found.sessions.values():
        sessions.sort(key=lambda one: one.on)
    return found


_BY_WEEK = (Goal.Measure.DRILL_SHARE, Goal.Measure.REPS_PER_WEEK)


def _week_rows(wanted: Sequence[Span], mates: Iterable[UUID], today: date) -> Any:
    last = today.isocalendar()
    now = (last.year, last.week)
    players = {one.goal.player_id for one in wanted}
    drills = {one.goal.drill_id for one in wanted if one.goal.drill_id}
    whole = {one.goal.player_id for one in wanted if one.goal.drill_id is None}
    rows = DrillWeek.objects.filter(Q(drill__in=drills) | Q(player__in=whole))
    theirs = rows.filter(player__in=players).between_weeks(
        _week(min(one.since for one in wanted)), now
    )
    squad = rows.filter(player__in=set(mates) - players).between_weeks(
        _week(today - SQUAD_WEEKS * WEEK), now
    )
    return (theirs | squad).order_by("iso_year", "iso_week")


def _week(day: date) -> weeks.Week:
    iso = day.isocalendar()
    return iso.year, iso.week


def _edges(spans: Iterable[Span]) -> list[tuple[str, date, set[UUID]]]:
    """The weeks that a goal begins or ends within: (zone, Monday, players)."""
    found: dict[tuple[str, date], set[UUID]] = defaultdict(set)
    for one in spans:
        if one.goal.measure != Goal.Measure.DRILL_SHARE:
            continue
        for first in (one.goal.started_on, one.until + timedelta(days=1), *one.cuts):
            if first is not None and first != monday_of(first):
                found[one.zone, monday_of(first)].add(one.goal.player_id)
    return [(zone, monday, players) for (zone, monday), players in found.items()]


def _by_day(
    edges: Sequence[tuple[str, date, set[UUID]]],
) -> Iterable[tuple[UUID, UUID, Session]]:
    wanted, zones = Q(pk__in=[]), {}
    for zone, monday, players in edges:
        start, end = weeks.local_start(monday, zone), weeks.local_start(monday + WEEK, zone)
        wanted |= Q(player__in=players, started_at__gte=start, started_at__lt=end)
        zones.update(dict.fromkeys(players, zone))
    if not edges:
        return
    for one in counting.logged(Workout.objects.kept().filter(wanted)):
        day = _local(one.started_at, zones[one.player_id])
        for drill, counts in one.drills.items():
            if counts.tried:
                yield one.player_id, drill, Session(day, counts.made or 0, counts.tried)


def _local(instant: datetime, zone: str) -> date:
    return instant.astimezone(ZoneInfo(zone)).date()


def _since(spans: Sequence[Span]) -> datetime:
    return min(weeks.local_start(one.since, one.zone) for one in spans)


@dataclass(frozen=True)
class _Set:
    player_id: UUID
    drill_id: UUID
    workout_id: UUID
    started_at: datetime
    made: int | None
    tried: int | None
    seconds: int | None


def of_marks(
    spans: Sequence[Span], mates: Iterable[UUID], today: date
) -> dict[tuple[UUID, UUID], list[Session]]:
    """By (goal, player): in each workout, how many sets reached the goal's mark, of how many."""
    wanted = [one for one in spans if one.goal.measure == Goal.Measure.DRILL_MARK]
    if not wanted:
        return {}
    by_drill: dict[UUID | None, list[_Set]] = defaultdict(list)
    for one in _sets(wanted, mates):
        by_drill[one.drill_id].append(one)
    recent = today - SQUAD_WEEKS * WEEK
    found: dict[tuple[UUID, UUID], list[Session]] = {}
    for span in wanted:
        sessions: dict[tuple[UUID, UUID], Session] = {}
        for one in by_drill[span.goal.drill_id]:
            reached = reaches(span.goal, one.seconds, one.made)
            day = _local(one.started_at, span.zone)
            if reached is None or day < (
                span.since if one.player_id == span.goal.player_id else recent
            ):
                continue
            key = (one.player_id, one.workout_id)
            held = sessions.get(key, Session(day, 0, 0))
            sessions[key] = Session(day, held.made + reached, held.tried + 1)
        for (player, _workout), session in sessions.items():
            found.setdefault((span.goal.pk, player), []).append(session)
    return found


def reaches(goal: Any, seconds: int | None, made: int | None) -> bool | None:
    """Does a set reach the goal's mark? None where it does not say."""
    if goal.mark_kind == Goal.Mark.MAKES_LEAST:
        return None if made is None else made >= goal.mark
    if not seconds:
        return None
    least = goal.mark_kind == Goal.Mark.SECONDS_LEAST
    return bool(seconds >= goal.mark if least else seconds <= goal.mark)


def _sets(wanted: Sequence[Span], mates: Iterable[UUID]) -> list[_Set]:
    players = {one.goal.player_id for one in wanted} | set(mates)
    workouts = Workout.objects.kept().filter(player__in=players, started_at__gte=_since(wanted))
    drills = {one.goal.drill_id for one in wanted}
    rows = WorkoutSet.objects.filter(workout__in=workouts, drill__in=drills)
    shots = {
        key: counts
        for key, *counts in Shot.objects.filter(
            workout__in=workouts, set__drill__in=drills, set__tried=None
        )
        .order_by()
        .values_list("set")
        .annotate(hits=Sum(Case(When(made=True, then=1), default=0)), shots=Count("pk"))
    }
    found = []
    names = ("workout__player", "drill_id", "workout_id", "workout__started_at")
    for key, *facts, made, tried, seconds in rows.order_by(
        "workout__started_at", "workout", "position"
    ).values_list("pk", *names, "made", "tried", "seconds"):
        if tried is None and key in shots:
            made, tried = shots[key]
        found.append(_Set(*facts, made, tried, seconds))
    return found


def of_zones(
    spans: Sequence[Span], mates: Iterable[UUID], today: date
) -> dict[tuple[UUID, UUID], list[Session]]:
    """By (goal, player): what was made and tried from the goal's zone in each workout.

    A zone is told of the place of each shot, by the rule set that the club has now.
    """
    wanted = [one for one in spans if one.goal.measure == Goal.Measure.ZONE_SHARE]
    if not wanted:
        return {}
    recent, everybody = today - SQUAD_WEEKS * WEEK, set(mates)
    found: dict[tuple[UUID, UUID], list[Session]] = defaultdict(list)
    for one in _shots(wanted, everybody, recent):
        for span in wanted:
            player = span.goal.player_id
            zone = (span.goal.player.club.rule_set, span.goal.zone)
            if zone not in one.zones or one.player_id not in {player, *everybody}:
                continue
            day = _local(one.started_at, span.zone)
            if day >= (span.since if one.player_id == player else recent):
                found[span.goal.pk, one.player_id].append(Session(day, *one.zones[zone]))
    return found


@dataclass
class _Shots:
    """The shots of one workout: made and tried by (rule set, zone)."""

    player_id: UUID
    started_at: datetime
    zones: dict[tuple[str, str], list[int]] = field(default_factory=dict)


def _shots(wanted: Sequence[Span], mates: set[UUID], recent: date) -> list[_Shots]:
    """The workouts with shots of the players of these goals, and of late those of `mates`, by
    their start. One query."""
    zone = wanted[0].zone
    theirs = Q(workout__player__in={one.goal.player_id for one in wanted})
    lately = Q(workout__player__in=mates, workout__started_at__gte=weeks.local_start(recent, zone))
    rows = Shot.objects.filter(
        (theirs & Q(workout__started_at__gte=_since(wanted))) | lately,
        workout__in=Workout.objects.kept(),
    ).order_by("workout__started_at", "workout")
    rules = {one.goal.player.club.rule_set for one in wanted}
    found: dict[UUID, _Shots] = {}
    names = ("workout", "workout__player", "workout__started_at", "x_mm", "y_mm", "made")
    for workout, player, started_at, x, y, made, drill in rows.values_list(
        *names, "set__drill__slug"
    ):
        one = found.setdefault(workout, _Shots(player, started_at))
        place = Taken(x, y, made, drill or "", ANY_WEEK)
        for rule_set in rules:
            held = one.zones.setdefault((rule_set, zone_of(place, rule_set)), [0, 0])
            held[0] += made
            held[1] += 1
    return list(found.values())
