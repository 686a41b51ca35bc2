"""What the pages show of goals and plans: reads only, in a constant number of queries."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from django.utils import timezone

from devplans.catalogue.models import Drill
from devplans.feedback.models import Delivery
from devplans.goals.counts import done_of
from devplans.goals.days import this_week, today_in
from devplans.goals.models import Goal, GoalExample, PlanItem
from devplans.goals.status import Standing, statuses
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts import sums


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


def week_progress(player: Player, week: weeks.Week | None = None) -> list[Progress]:
    """The plan of one player in one ISO week (the current one), drills for one player first."""
    return progress_of([player], week or this_week(player.club.zone))[player.pk]


def progress_of(players: Iterable[Player], week: weeks.Week) -> dict[UUID, list[Progress]]:
    """`week_progress` for many players of one club. Raises ValueError for no such week."""
    players = list(players)
    found: dict[UUID, list[Progress]] = {player.pk: [] for player in players}
    if not players:
        return found
    done = sums.drill_sums(players, *weeks.bounds(*week, players[0].club.zone))
    by_drill = {(key, row.drill_id): row for key, rows in done.items() for row in rows}
    items = PlanItem.objects.in_week(weeks.monday(*week)).asked_for().filter(player__in=players)
    if week == this_week(players[0].club.zone):
        items = items.to_work_on()
    items = items.select_related("drill", "goal__skill")
    for item in items.order_by("drill__players_needed", "created_at"):
        row = by_drill.get((item.player_id, item.drill_id))
        found[item.player_id].append(
            Progress(item, done_of(item.target_in, item.drill, row), item.weekly_target)
        )
    return found


def review_days(goal: Goal) -> Sequence[date]:
    return [date.fromisoformat(day) for day in goal.review_dates]


def drill_named(user: Any, player: Player, name: str) -> Drill | None:
    """The drill in use that a key or a slug means for a player; the club's own before a shipped."""
    drills = Drill.objects.visible_to(user).for_club(player.club).in_use()
    try:
        return drills.filter(pk=UUID(name)).first()
    except ValueError:
        return drills.filter(slug=name).order_by(F("club").asc(nulls_last=True)).first()


@dataclass(frozen=True)
class Sheet:
    """One goal as the list shows it: where it stands, and its running drills, each with what is
    done this week."""

    goal: Goal
    drills: list[Progress]
    standing: Standing


def plan_of(user: Any, player: Player) -> dict[UUID | None, list[Progress]]:
    """What runs in a player's plan by goal, as far as the user may read it; None: of no goal."""
    rows = PlanItem.objects.visible_to(user).running().of_player(player)
    week = this_week(player.club.zone)
    sets = sums.drill_sums([player], *weeks.bounds(*week, player.club.zone)).get(player.pk, [])
    by_drill = {row.drill_id: row for row in sets}
    found: dict[UUID | None, list[Progress]] = {}
    for item in rows:
        done = done_of(item.target_in, item.drill, by_drill.get(item.drill_id))
        found.setdefault(item.goal_id, []).append(Progress(item, done, item.weekly_target))
    return found


def sheets(user: Any, player: Player) -> dict[str, list[Sheet]]:
    """The player's goals that the user may read, by life: live, draft, paused, closed."""
    plan = plan_of(user, player)
    goals = list(Goal.objects.visible_to(user).of_player(player))
    standings = statuses(goals, timezone.now())
    found: dict[str, list[Sheet]] = {}
    for goal in goals:
        sheet = Sheet(goal, plan.get(goal.pk, []), standings[goal.pk])
        found.setdefault(goal.life, []).append(sheet)
    return found


def standing_of(goal: Goal) -> Standing:
    """Where one goal stands now."""
    return statuses([goal], timezone.now())[goal.pk]


def drills_of(user: Any, goal: Goal) -> list[Progress]:
    """What runs for one goal, with what is done this week."""
    return plan_of(user, goal.player).get(goal.pk, [])


def today_of(player: Player) -> date:
    return today_in(player.club.zone)


def examples_to_pick(user: Any, goal: Goal) -> QuerySet[Delivery]:
    """Deliveries of the goal's player on its skill that are no examples yet, the latest first."""
    there = GoalExample.objects.filter(goal=goal).values("delivery")
    rows = Delivery.objects.visible_to(user).standing().of_player(goal.player)
    rows = rows.filter(comment__skill=goal.skill_id).exclude(pk__in=there)
    return rows.select_related("comment").order_by("-sent_at")
