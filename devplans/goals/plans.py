"""Spans and rights of plan items, shared by the services and the pages."""

from datetime import date
from typing import Any

from django.db.models import Case, When

from devplans.catalogue.models import Drill
from devplans.goals.days import WEEK
from devplans.goals.models import Goal, PlanItem
from devplans.people.access import Action


def default_target_in(drill: Drill) -> str:
    makes = drill.counts == Drill.Counts.MAKES
    return PlanItem.Target.MAKES if makes else PlanItem.Target.REPS


def default_weekly_target(drill: Drill) -> int:
    """What the drill itself asks for, once."""
    return drill.default_sets * drill.default_per_set


def right_over(actor: Any, item: PlanItem) -> Action:
    """What one needs to change an item: a player's coaches may change all of his plan; he and his
    guardians what they added themselves."""
    own = item.goal_id is None and item.added_by_id == actor.pk
    return Action.LOG_WORKOUT if own else Action.COACH_PLAYER


def is_unasked(item: PlanItem) -> bool:
    """Does it belong to a draft? Then nobody has been asked for anything yet."""
    return item.goal is not None and item.goal.life == Goal.Life.DRAFT


def end_with_last_week(item: PlanItem, monday: date) -> None:
    """Its last week is the one before `monday`; one that asked for nothing before is deleted."""
    if item.from_week >= monday or is_unasked(item):
        item.delete()
        return
    item.until_week = monday - WEEK
    item.save(update_fields=["until_week", "updated_at"])


def end_items_of(goal: Goal, monday: date) -> None:
    """End what still runs for a goal."""
    for item in goal.plan_items.running().select_related("goal"):
        end_with_last_week(item, monday)


def begin_items_of(goal: Goal, monday: date) -> None:
    """The drills of a draft that goes live are asked for from this week on, not before."""
    for item in goal.plan_items.running():
        item.from_week = monday
        item.save(update_fields=["from_week", "updated_at"])


def of_skill_first(drills: Any, skill_id: Any) -> Any:
    """Drills of one skill before the others."""
    place = Case(When(skill=skill_id, then=0), default=1)
    return drills.order_by(place, "players_needed", "name")
