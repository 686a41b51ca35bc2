"""A player's weekly drills. What was asked for in a past week never changes."""

from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.goals import plans
from devplans.goals.days import this_monday
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
    """Put a drill into a player's work from this week on; one that is there already stays as it is.

    The player, his guardians and coaches may; for a goal, the coaches. Without a target: what the
    drill asks for. A drill of no goal moves to the live goal that asks for it, one that waits in a
    draft or in a paused goal moves to who works on it now.
    Raises DomainError "plan.drill", "plan.goal", "plan.target", "plan.there", "plan.full".
    """
    access.require(actor, Action.COACH_PLAYER if goal else Action.LOG_WORKOUT, player)
    player = Player.objects.select_for_update().get(pk=player.pk)
    _check_drill(player, drill, goal)
    if weekly_target is None:
        weekly_target = plans.default_weekly_target(drill)
    item = PlanItem(
        player=player,
        goal=goal,
        drill=drill,
        target_in=target_in or plans.default_target_in(drill),
        weekly_target=weekly_target,
        from_week=this_monday(player.club.zone),
        added_by=actor,
    )
    _check_target(item.target_in, item.weekly_target)
    running = PlanItem.objects.running().filter(player=player)
    if held := running.select_related("goal__skill").filter(drill=drill).first():
        if not _makes_way(held, goal):
            return held
        plans.end_with_last_week(held, item.from_week)
    if running.count() >= MOST_ITEMS:
        words = _("Twelve drills a week are the most. End one first.")
        raise DomainError("plan.full", words, field="drill")
    item.save()
    _record(actor, "goals.item_added", item)
    return item


@transaction.atomic
def change_plan_item(*, actor: Any, item: PlanItem, target_in: str, weekly_target: int) -> PlanItem:
    """Ask for something else from this week on: the old row ends with last week, a new one begins.

    Returns the row that holds now. Raises DomainError "plan.past", "plan.target".
    """
    access.require(actor, plans.right_over(actor, item), item.player)
    held = _locked(item)
    monday = this_monday(held.player.club.zone)
    _check_running(held)
    _check_target(target_in, weekly_target)
    if (held.target_in, held.weekly_target) == (target_in, weekly_target):
        return held
    if held.from_week >= monday or plans.is_unasked(held):
        held.target_in, held.weekly_target = target_in, weekly_target
        held.save(update_fields=["target_in", "weekly_target", "updated_at"])
    else:
        plans.end_with_last_week(held, monday)
        held = PlanItem.objects.create(
            player=held.player,
            goal=held.goal,
            drill=held.drill,
            target_in=target_in,
            weekly_target=weekly_target,
            from_week=monday,
            added_by=held.added_by,
        )
    _record(actor, "goals.item_changed", held)
    return held


@transaction.atomic
def end_plan_item(*, actor: Any, item: PlanItem) -> None:
    """Take a drill out of the work: last week was its last; one of this week goes altogether.

    Raises DomainError "plan.past" where it has ended before.
    """
    access.require(actor, plans.right_over(actor, item), item.player)
    held = _locked(item)
    _check_running(held)
    _record(actor, "goals.item_ended", held)
    plans.end_with_last_week(held, this_monday(held.player.club.zone))


def _makes_way(held: PlanItem, goal: Goal | None) -> bool:
    """Does a drill that is there already end for the new row? Raises DomainError "plan.there"."""
    if goal is None:
        waits = {Goal.Life.DRAFT, Goal.Life.PAUSED}
        return held.goal is not None and held.goal.life in waits
    if held.goal_id == goal.pk:
        return False
    if held.goal_id is None and goal.life == Goal.Life.LIVE:
        return True
    if held.goal is None:
        words = _("The player works on this drill already: begin the goal first, then add it.")
    else:
        words = _("This drill is in the plan already, for %(skill)s.") % {"skill": held.goal.skill}
    raise DomainError("plan.there", words, field="drill")


def _locked(item: PlanItem) -> PlanItem:
    player = Player.objects.select_for_update().get(pk=item.player_id)
    held = PlanItem.objects.select_related("drill", "goal").get(pk=item.pk)
    held.player = player
    return held


def _check_running(item: PlanItem) -> None:
    if item.until_week is not None:
        words = _("This drill has ended; what was asked for then stays as it was.")
        raise DomainError("plan.past", words)


def _check_target(target_in: str, weekly_target: int) -> None:
    if target_in not in PlanItem.Target.values:
        raise DomainError("plan.target", _("Choose what is counted."), field="target_in")
    if not 1 <= weekly_target <= MOST_A_WEEK:
        words = _("A target from 1 to 10,000 a week.")
        raise DomainError("plan.target", words, field="weekly_target")


def _check_drill(player: Player, drill: Drill, goal: Goal | None) -> None:
    if drill.club_id not in {None, player.club_id} or drill.retired_at is not None:
        words = _("This drill is not in the club's catalogue.")
        raise DomainError("plan.drill", words, field="drill")
    if goal and (goal.player_id != player.pk or goal.life == Goal.Life.CLOSED):
        raise DomainError("plan.goal", _("This goal cannot take a drill."))


def _record(actor: Any, verb: str, item: PlanItem) -> None:
    player = item.player
    audit.record(actor, verb, item, club_id=player.club_id, player_id=player.pk)
