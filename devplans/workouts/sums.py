"""Sums over what was logged, for many players at once, in a constant number of queries.

Whole ISO weeks are read from their rows; what is left of a span at its ends is counted from the
workouts themselves.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any
from uuid import UUID

from devplans.catalogue.models import Drill
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts.models import DrillWeek, Workout, WorkoutWeek
from devplans.workouts.weeks import counting
from devplans.workouts.weeks.counting import Counts, Logged, plus
from devplans.workouts.weeks.spans import Parts, parts_of

Session = tuple[int, int]


@dataclass(frozen=True)
class WeekSums:
    """One player's ISO week; None where nothing of the kind was logged. load: effort x minutes.
    daily_loads: seven numbers, Monday first, 0 where none is known; empty where it is no week, or
    none with a workout."""

    workouts: int = 0
    minutes_own: int | None = None
    minutes_organised: int | None = None
    load: int | None = None
    reps: int | None = None
    made: int | None = None
    tried: int | None = None
    daily_loads: tuple[int, ...] = field(default=(), compare=False)


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


SUMMED = [one.name for one in fields(WeekSums) if one.compare]
DRILL_SUMMED = [one.name for one in fields(Counts)]


def week_sums(players: Iterable[Player], iso_year: int, iso_week: int) -> dict[UUID, WeekSums]:
    """The week of each player, in his club's time zone. Raises ValueError for no such week."""
    series = week_series(players, (iso_year, iso_week), 1)
    return {player_id: rows[0] for player_id, rows in series.items()}


def week_series(
    players: Iterable[Player], first_week: weeks.Week, count: int
) -> dict[UUID, list[WeekSums]]:
    """`count` weeks of each player, the oldest first, those without a workout too. One query.

    Raises ValueError for a week that does not exist.
    """
    shown = list(weeks.weeks_from(first_week, count))
    found = {player.pk: dict.fromkeys(shown, WeekSums()) for player in players}
    if not shown:
        return {player_id: [] for player_id in found}
    rows = WorkoutWeek.objects.filter(player__in=list(found)).between_weeks(shown[0], shown[-1])
    names = ("player_id", "iso_year", "iso_week", *SUMMED, "daily_loads")
    for player_id, iso_year, iso_week, *values, daily in rows.order_by().values_list(*names):
        found[player_id][(iso_year, iso_week)] = WeekSums(*values, daily_loads=tuple(daily))
    return {player_id: list(by_week.values()) for player_id, by_week in found.items()}


def span_sums(players: Iterable[Player], start: datetime, end: datetime) -> dict[UUID, WeekSums]:
    """Sums of workouts that began in [start, end): sets with their own counts, the shots of sets
    without any, and shots outside sets; no shot counts twice."""
    found = {player.pk: WeekSums() for player in players}
    for group, parts in _by_zone(found, start, end):
        if parts.whole:
            rows = WorkoutWeek.objects.filter(player__in=group).between_weeks(*parts.whole)
            for player_id, *values in rows.order_by().values_list("player_id", *SUMMED):
                found[player_id] = _plus(found[player_id], WeekSums(*values))
        by_player: dict[UUID, list[Logged]] = defaultdict(list)
        for one in (one for edge in _edges(group, parts) for one in edge):
            by_player[one.player_id].append(one)
        for player_id, logged in by_player.items():
            more = WeekSums(**counting.totals_of(logged))  # type: ignore[arg-type]
            found[player_id] = _plus(found[player_id], more)
    return found


def _plus(left: WeekSums, right: WeekSums) -> WeekSums:
    return WeekSums(**{name: plus(getattr(left, name), getattr(right, name)) for name in SUMMED})  # type: ignore[arg-type]


def _by_zone(
    players: Iterable[UUID], start: datetime, end: datetime
) -> Iterator[tuple[list[UUID], Parts]]:
    """The players of each time zone, with the span in weeks of that zone."""
    groups: dict[str, list[UUID]] = defaultdict(list)
    rows = Player.objects.filter(pk__in=list(players)).order_by()
    for player_id, zone in rows.values_list("pk", "club__zone"):
        groups[zone].append(player_id)
    for zone, group in groups.items():
        yield group, parts_of(start, end, zone)


def _edges(group: list[UUID], parts: Parts) -> tuple[list[Logged], list[Logged]]:
    """The workouts before and behind the whole weeks."""
    found = []
    for edge in (parts.head, parts.tail):
        rows = Workout.objects.between(*edge).filter(player__in=group) if edge else None
        found.append([] if rows is None else counting.logged(rows))
    return found[0], found[1]


def add_up(workouts: Iterable[Workout]) -> WeekSums:
    """The same sums over workouts that are at hand already, read `with_content`."""
    return WeekSums(**counting.totals_of(map(counting.at_hand, workouts)))  # type: ignore[arg-type]


def drill_sums(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[DrillSums]]:
    """For each player the drills of [start, end), by name; shots of sets without counts too."""
    found: dict[tuple[UUID, UUID], Counts] = {}
    names: dict[UUID, tuple[str, str]] = {}
    for group, parts in _by_zone((player.pk for player in players), start, end):
        for row in _drill_rows(group, parts, "drill__slug", "drill__name", *DRILL_SUMMED):
            player_id, drill_id, slug, name, *values = row
            names[drill_id] = (slug, name)
            found[player_id, drill_id] = found.get((player_id, drill_id), Counts()) + Counts(
                *values
            )
        for edge in _edges(group, parts):
            for key, counts in counting.drills_of(edge).items():
                found[key] = found.get(key, Counts()) + counts
    names |= _names({drill_id for _player, drill_id in found} - names.keys())
    by_player: dict[UUID, list[DrillSums]] = {}
    for (player_id, drill_id), counts in found.items():
        row = DrillSums(drill_id, *names[drill_id], **vars(counts))
        by_player.setdefault(player_id, []).append(row)
    for rows in by_player.values():
        rows.sort(key=lambda row: (row.name, row.slug, row.drill_id))
    return by_player


def drill_sessions(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[tuple[UUID, UUID], list[Session]]:
    """(made, tried) of each workout of [start, end) in which a drill was tried, by start, under
    (player, drill)."""
    found: dict[tuple[UUID, UUID], list[Session]] = defaultdict(list)
    for group, parts in _by_zone((player.pk for player in players), start, end):
        head, tail = (counting.sessions_of(edge) for edge in _edges(group, parts))
        for key, sessions in head.items():
            found[key] += sessions
        for player_id, drill_id, rows in _drill_rows(group, parts, "sessions"):
            found[player_id, drill_id] += [(made, tried) for made, tried in rows]
        for key, sessions in tail.items():
            found[key] += sessions
    return {key: sessions for key, sessions in found.items() if sessions}


def _drill_rows(group: list[UUID], parts: Parts, *names: str) -> Iterable[Any]:
    if not parts.whole:
        return []
    rows = DrillWeek.objects.filter(player__in=group).between_weeks(*parts.whole)
    rows = rows.order_by("iso_year", "iso_week")
    return rows.values_list("player_id", "drill_id", *names)


def _names(drill_ids: set[UUID]) -> dict[UUID, tuple[str, str]]:
    if not drill_ids:
        return {}
    rows = Drill.objects.filter(pk__in=drill_ids).values_list("pk", "slug", "name")
    return {drill_id: (slug, name) for drill_id, slug, name in rows}
