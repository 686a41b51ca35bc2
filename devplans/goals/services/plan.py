"""A player's weekly drills. What was asked for in a past week never changes."""

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.goals.calendar import WEEK, this_monday
from devplans.goals.models import Goal, PlanItem
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player

MOST_A_WEEK = 10_000
MOST_ITEMS = 12


@transaction.atomic
def add_plan_item(
    *,
    actor: Any,
    player: Player,
    drill: Drill,
    target_in: str = "",
    weekly_target: int | None = None,
    goal: Goal | None = None,
) -> PlanItem:
    """Put a drill into a player's work from this week on. A drill that is there already stays as it is.

    The player, his guardians and coaches may; for a goal, the coaches. Without a target: what the drill asks for.
    Raises DomainError "plan.drill", "plan.goal", "plan.target", "plan.full".
    """
    access.require(actor, Action.COACH_PLAYER if goal else Action.LOG_WORKOUT, player)
    player = Player.objects.select_for_update().get(pk=player.pk)
    running = PlanItem.objects.running().filter(player=player)
    if held := running.filter(drill=drill).first():
        return held
    _check_drill(player, drill, goal)
    if running.count() >= MOST_ITEMS:
        raise DomainError("plan.full", _("Twelve drills a week are the most. End one first."), field="drill")
    target_in = target_in or default_target_in(drill)
    weekly_target = drill.default_sets * drill.default_per_set if weekly_target is None else weekly_target
    _check_target(weekly_target)
    item = PlanItem.objects.create(
        player=player,
        goal=goal,
        drill=drill,
        target_in=target_in,
        weekly_target=weekly_target,
        from_week=this_monday(player.club.zone),
        added_by=actor,
    )
    _record(actor, "goals.item_added", item)
    return item


@transaction.atomic
def change_plan_item(*, actor: Any, item: PlanItem, target_in: str, weekly_target: int) -> PlanItem:
    """Ask for something else from this week on: the old row ends with last week, a new one begins.

    Returns the row that holds now. Raises DomainError "plan.past", "plan.target".
    """
    _require_own(actor, item)
    held = _locked(item)
    monday = this_monday(held.player.club.zone)
    _check_running(held)
    _check_target(weekly_target)
    if (held.target_in, held.weekly_target) == (target_in, weekly_target):
        return held
    if held.from_week >= monday:
        held.target_in, held.weekly_target = target_in, weekly_target
        held.save(update_fields=["target_in", "weekly_target", "updated_at"])
    else:
        _end_with_last_week(held, monday)
        held = PlanItem.objects.create(
            player=held.player,
            goal=held.goal,
            drill=held.drill,
            target_in=target_in,
            weekly_target=weekly_target,
            from_week=monday,
            added_by=actor,
        )
    _record(actor, "goals.item_changed", held)
    return held


@transaction.atomic
def end_plan_item(*, actor: Any, item: PlanItem) -> None:
    """Take a drill out of the work: its last week is the last one; one that began this week goes altogether.

    Raises DomainError "plan.past" where it has ended before.
    """
    _require_own(actor, item)
    held = _locked(item)
    _check_running(held)
    _record(actor, "goals.item_ended", held)
    _end_with_last_week(held, this_monday(held.player.club.zone))


def end_items_of(goal: Goal, monday: date) -> None:
    """End what still runs for a goal."""
    for item in goal.plan_items.running():
        _end_with_last_week(item, monday)


def may_change(actor: Any, item: PlanItem) -> bool:
    """A player's coaches may change all of his plan; he and his guardians what they added themselves."""
    own = item.goal_id is None and item.added_by_id == actor.pk
    return access.allows(actor, Action.LOG_WORKOUT if own else Action.COACH_PLAYER, item.player)


def default_target_in(drill: Drill) -> str:
    return PlanItem.Target.MAKES if drill.counts == Drill.Counts.MAKES else PlanItem.Target.REPS


def _require_own(actor: Any, item: PlanItem) -> None:
    if not may_change(actor, item):
        raise PermissionDenied("only who added it, and the coaches, may change it")


def _locked(item: PlanItem) -> PlanItem:
    player = Player.objects.select_for_update().get(pk=item.player_id)
    held = PlanItem.objects.select_related("drill", "goal").get(pk=item.pk)
    held.player = player
    return held


def _end_with_last_week(item: PlanItem, monday: date) -> None:
    if item.from_week >= monday:
        item.delete()
        return
    item.until_week = monday - WEEK
    item.save(update_fields=["until_week", "updated_at"])


def _check_running(item: PlanItem) -> None:
    if item.until_week is not None:
        raise DomainError("plan.past", _("This drill has ended; what was asked for then stays as it was."))


def _check_target(weekly_target: int) -> None:
    if not 1 <= weekly_target <= MOST_A_WEEK:
        raise DomainError("plan.target", _("A target from 1 to 10,000 a week."), field="weekly_target")


def _check_drill(player: Player, drill: Drill, goal: Goal | None) -> None:
    if drill.club_id not in {None, player.club_id} or drill.retired_at is not None:
        raise DomainError("plan.drill", _("This drill is not in the club's catalogue."), field="drill")
    if goal and (goal.player_id != player.pk or goal.life == Goal.Life.CLOSED):
        raise DomainError("plan.goal", _("This goal cannot take a drill."))


def _record(actor: Any, verb: str, item: PlanItem) -> None:
    player = item.player
    audit.record(actor, verb, item, club_id=player.club_id, player_id=player.pk)
