"""Deliveries that show what a goal is about."""

from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback.models import Delivery
from devplans.goals.models import Goal, GoalExample
from devplans.people import access
from devplans.people.access import Action


@transaction.atomic
def add_example(*, actor: Any, goal: Goal, delivery: Delivery) -> GoalExample:
    """Show a delivery beside a goal; twice is once. Raises DomainError "goal.example"."""
    access.require(actor, Action.COACH_PLAYER, goal.player)
    if delivery.player_id != goal.player_id or delivery.withdrawn_at is not None:
        raise DomainError(
            "goal.example", _("This clip is not one of this player's."), field="delivery"
        )
    if delivery.comment.skill_id != goal.skill_id:
        raise DomainError("goal.example", _("This clip is about another skill."), field="delivery")
    example, made = GoalExample.objects.get_or_create(goal=goal, delivery=delivery)
    if made:
        _record(actor, "goals.example_added", example)
    return example


@transaction.atomic
def remove_example(*, actor: Any, example: GoalExample) -> None:
    """Take a delivery away from a goal; the delivery itself stays."""
    access.require(actor, Action.COACH_PLAYER, example.goal.player)
    _record(actor, "goals.example_removed", example)
    example.delete()


def _record(actor: Any, verb: str, example: GoalExample) -> None:
    player = example.goal.player
    audit.record(actor, verb, example, club_id=player.club_id, player_id=player.pk)
