"""Rows that the pages begin with, and how a refused rule is told."""

from uuid import UUID

from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from devplans.core.errors import DomainError
from devplans.goals.forms import PlanForm
from devplans.goals.models import Goal, PlanItem
from devplans.people.models import Player


def player_of(request: HttpRequest, player_id: UUID) -> Player:
    players = Player.objects.visible_to(request.user).select_related("club")
    found: Player = get_object_or_404(players, pk=player_id)
    return found


def goal_of(request: HttpRequest, goal_id: UUID) -> Goal:
    rows = Goal.objects.visible_to(request.user).select_related("player__club", "skill", "drill")
    found: Goal = get_object_or_404(rows, pk=goal_id)
    return found


def item_of(request: HttpRequest, item_id: UUID) -> PlanItem:
    rows = PlanItem.objects.visible_to(request.user)
    rows = rows.select_related("player__club", "drill", "goal__skill")
    found: PlanItem = get_object_or_404(rows, pk=item_id)
    return found


def tell(form: PlanForm, error: DomainError) -> None:
    """Put what a rule refused beside its field, or above the form where there is no such field."""
    form.add_error(error.field if error.field in form.fields else None, str(error))
