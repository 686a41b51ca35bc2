"""What the pages show of goals and plans: reads only, a constant number of questions for any number of players."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.utils import timezone

from devplans.catalogue.models import Drill
from devplans.goals.calendar import this_week
from devplans.goals.models import Goal, PlanItem
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts import sums
from devplans.workouts.sums import DrillSums

STARTING_WEEKS = 4


@dataclass(frozen=True)
class Progress:
    """One plan item in one week: what was asked for, what is done."""

    item: PlanItem
    done: int
    target: int

    @property
    def is_done(self) -> bool:
        return self.done >= self.target

    @property
    def share(self) -> float:
        """Held at 1: a bar has an end."""
        return min(1.0, self.done / self.target)


@dataclass(frozen=True)
class Counted:
    """What was counted of a drill in a span of weeks."""

    made: int = 0
    tried: int = 0
    reps_a_week: int = 0


def week_progress(player: Player, week: weeks.Week | None = None) -> list[Progress]:
    """The plan of one player in one ISO week (the current one), drills for one player first."""
    return progress_of([player], week or this_week(player.club.zone))[player.pk]


def progress_of(players: Iterable[Player], week: weeks.Week) -> dict[UUID, list[Progress]]:
    """`week_progress` for many players of one club. Raises ValueError for a week that does not exist."""
    players = list(players)
    found: dict[UUID, list[Progress]] = {player.pk: [] for player in players}
    if not players:
        return found
    done = sums.drill_sums(players, *weeks.bounds(*week, players[0].club.zone))
    by_drill = {(key, row.drill_id): row for key, rows in done.items() for row in rows}
    items = PlanItem.objects.in_week(weeks.monday(*week)).to_work_on().filter(player__in=players)
    items = items.select_related("drill", "goal__skill")
    for item in items.order_by("drill__players_needed", "created_at"):
        row = by_drill.get((item.player_id, item.drill_id))
        found[item.player_id].append(Progress(item, done_of(item.target_in, item.drill, row), item.weekly_target))
    return found


def done_of(target_in: str, drill: Drill, row: DrillSums | None) -> int:
    """How much of a target in makes, tries or reps was done."""
    if row is None:
        return 0
    if target_in == PlanItem.Target.MAKES:
        return row.made or 0
    if target_in == PlanItem.Target.TRIES:
        return row.tried or 0
    return reps_of(drill, row)


def reps_of(drill: Drill, row: DrillSums) -> int:
    """Reps of a drill; a try is the rep of one that counts makes, a hold that of one that counts seconds."""
    if drill.counts == Drill.Counts.MAKES:
        return (row.tried or 0) + (row.reps or 0)
    if drill.counts == Drill.Counts.SECONDS:
        return row.sets
    return row.reps or 0


def counted_between(player: Player, drill: Drill, start: datetime, end: datetime, *, count: int = 1) -> Counted:
    """Made, tried and reps per week of a drill in [start, end), which is `count` weeks long."""
    rows = sums.drill_sums([player], start, end).get(player.pk, [])
    row = next((row for row in rows if row.drill_id == drill.pk), None)
    if row is None:
        return Counted()
    return Counted(row.made or 0, row.tried or 0, round(reps_of(drill, row) / count))


def starting_point(player: Player, drill: Drill) -> Counted:
    """The last four complete weeks of a drill."""
    zone = player.club.zone
    last = weeks.last_complete_week(timezone.now(), zone)
    first = last
    for _step in range(STARTING_WEEKS - 1):
        first = weeks.previous_week(first)
    start, end = weeks.bounds(*first, zone)[0], weeks.bounds(*last, zone)[1]
    return counted_between(player, drill, start, end, count=STARTING_WEEKS)


def standing(goal: Goal) -> Counted | None:
    """What was counted since the goal began; None for film, which only closed tallies can tell.

    For reps a week: the last complete week.
    """
    if goal.drill is None or goal.started_on is None:
        return None
    zone = goal.player.club.zone
    if goal.measure == Goal.Measure.REPS_PER_WEEK:
        start, end = weeks.bounds(*weeks.last_complete_week(timezone.now(), zone), zone)
    else:
        start, end = weeks.local_start(goal.started_on, zone), timezone.now()
    return counted_between(goal.player, goal.drill, start, end)


def review_days(goal: Goal) -> Sequence[date]:
    return [date.fromisoformat(day) for day in goal.review_dates]


def plan_of(user: Any, player: Player) -> list[PlanItem]:
    """What runs in a player's plan, as far as the user may read it."""
    items = PlanItem.objects.visible_to(user).running().filter(player=player)
    return list(items.select_related("drill", "goal__skill", "player").order_by("created_at"))
