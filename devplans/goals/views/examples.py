from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from devplans.core.errors import DomainError
from devplans.feedback.models import Delivery
from devplans.goals import services
from devplans.goals.models import GoalExample
from devplans.goals.views.finding import goal_of
from devplans.people import access
from devplans.people.access import Action


@require_POST
def example_add(request: HttpRequest, goal_id: UUID) -> HttpResponse:
    goal = goal_of(request, goal_id)
    access.require(request.user, Action.COACH_PLAYER, goal.player)
    rows = Delivery.objects.visible_to(request.user).select_related("comment")
    try:
        delivery = get_object_or_404(rows, pk=request.POST.get("delivery"))
    except ValidationError as error:
        raise Http404 from error
    try:
        services.add_example(actor=request.user, goal=goal, delivery=delivery)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("The clip is an example now."))
    return redirect("goals:goal", goal.pk)


@require_POST
def example_remove(request: HttpRequest, example_id: UUID) -> HttpResponse:
    rows = GoalExample.objects.visible_to(request.user).select_related("goal__player")
    example = get_object_or_404(rows, pk=example_id)
    services.remove_example(actor=request.user, example=example)
    messages.success(request, _("It is no example any more. The clip itself stays."))
    return redirect("goals:goal", example.goal_id)
