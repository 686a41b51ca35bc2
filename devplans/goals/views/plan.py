from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.goals import plans, reading, services
from devplans.goals.forms import ItemForm, NewItemForm
from devplans.goals.models import Goal, PlanItem
from devplans.goals.views.finding import item_of, player_of, tell
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.workouts import wording
from devplans.workouts.after.effort import asked_of


@require_GET
def work(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """This week's drills of one player, those for one player first."""
    player = player_of(request, player_id)
    rows = reading.week_progress(player)
    is_own = player.user_id == request.user.pk
    page = {
        "player": player,
        "is_own": is_own,
        "asked": asked_of([player])[player.pk] if is_own else [],
        "effort": wording.EFFORT,
        "may_log": access.allows(request.user, Action.LOG_WORKOUT, player),
        "alone": [row for row in rows if row.item.drill.players_needed == 1],
        "together": [row for row in rows if row.item.drill.players_needed > 1],
        "next": next((row for row in rows if not row.is_done), None),
        "done": sum(row.is_done for row in rows),
        "count": len(rows),
    }
    return render(request, "goals/work.html", page)


@require_GET
def plan_drills(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The week's drills, for the page on which a workout is logged."""
    player = player_of(request, player_id)
    access.require(request.user, Action.LOG_WORKOUT, player)
    page = {"player": player, "rows": reading.week_progress(player)}
    return render(request, "goals/_plan_drills.html", page)


@require_POST
def add_drill(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """A drill from another page into the player's work, with the drill's own target."""
    player = player_of(request, player_id)
    access.require(request.user, Action.LOG_WORKOUT, player)
    drill = reading.drill_named(request.user, player, request.POST.get("drill", ""))
    if drill is None:
        raise Http404
    try:
        item = services.add_plan_item(actor=request.user, player=player, drill=drill)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        words = _("%(drill)s is in this week's work: %(target)s %(unit)s.")
        told = {"target": item.weekly_target, "unit": item.get_target_in_display()}
        messages.success(request, words % {"drill": drill, **told})
    return _back(request, player)


def _back(request: HttpRequest, player: Player) -> HttpResponse:
    """To the page with the button, if it is one of ours."""
    came_from = request.headers.get("referer", "")
    if url_has_allowed_host_and_scheme(
        came_from, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return redirect(came_from)
    return redirect("goals:work", player.pk)


@require_http_methods(["GET", "POST"])
def item_add(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_of(request, player_id)
    goal = _goal_asked(request, player)
    access.require(request.user, Action.COACH_PLAYER if goal else Action.LOG_WORKOUT, player)
    first = {"drill": goal.drill_id} if goal else {"drill": request.GET.get("drill", "")}
    form = NewItemForm(
        request.POST or None, user=request.user, player=player, goal=goal, initial=first
    )
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data
        try:
            services.add_plan_item(actor=request.user, player=player, goal=goal, **asked)
        except DomainError as error:
            tell(form, error)
        else:
            messages.success(request, _("%(drill)s is in the plan.") % {"drill": asked["drill"]})
            return _after(request, player, goal)
    return _item_page(request, form, player, goal=goal)


def _goal_asked(request: HttpRequest, player: Player) -> Goal | None:
    """The goal that the address names, if any: `?goal=`."""
    named = request.GET.get("goal")
    if not named:
        return None
    try:
        key = UUID(named)
    except ValueError as error:
        raise Http404 from error
    rows = Goal.objects.visible_to(request.user).of_player(player)
    found: Goal = get_object_or_404(rows, pk=key)
    return found


@require_http_methods(["GET", "POST"])
def item_edit(request: HttpRequest, item_id: UUID) -> HttpResponse:
    item = item_of(request, item_id)
    access.require(request.user, plans.right_over(request.user, item), item.player)
    first = {"target_in": item.target_in, "weekly_target": item.weekly_target}
    form = ItemForm(request.POST or None, user=request.user, initial=first)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_plan_item(actor=request.user, item=item, **form.cleaned_data)
        except DomainError as error:
            tell(form, error)
        else:
            messages.success(request, _("From this week on that is asked for."))
            return _after(request, item.player, item.goal)
    return _item_page(request, form, item.player, goal=item.goal, item=item)


@require_POST
def item_end(request: HttpRequest, item_id: UUID) -> HttpResponse:
    item = item_of(request, item_id)
    try:
        services.end_plan_item(actor=request.user, item=item)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("%(drill)s is out of the plan.") % {"drill": item.drill})
    return _after(request, item.player, item.goal)


def _after(request: HttpRequest, player: Player, goal: Goal | None) -> HttpResponse:
    """Coaches go on with the goal or the list, a family with the work."""
    if goal is not None:
        return redirect("goals:goal", goal.pk)
    coaches = access.allows(request.user, Action.COACH_PLAYER, player)
    return redirect("goals:list" if coaches else "goals:work", player.pk)


def _item_page(
    request: HttpRequest, form: Any, player: Player, *, goal: Goal | None, item: Any = None
) -> HttpResponse:
    held: PlanItem | None = item
    page = {"form": form, "player": player, "goal": goal, "item": held}
    page["coaches"] = access.allows(request.user, Action.COACH_PLAYER, player)
    return render(request, "goals/item_form.html", page, status=422 if form.errors else 200)
