from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.goals import aims, reading, services
from devplans.goals.forms import CloseForm, GoalForm, first_of
from devplans.goals.models import Goal, GoalExample, GoalReview, PlanItem
from devplans.goals.views.finding import goal_of, player_of, tell
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player

STEPS = {
    "begin": (services.make_live, gettext_lazy("The goal is live.")),
    "pause": (services.pause_goal, gettext_lazy("The goal is paused.")),
    "resume": (services.resume_goal, gettext_lazy("The goal is live again.")),
}


@require_GET
def goal_list(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """A player's goals by life, each with its weekly drills; drafts for the staff only."""
    player = player_of(request, player_id)
    found = reading.sheets(request.user, player)
    page = {
        "player": player,
        "coaches": access.allows(request.user, Action.COACH_PLAYER, player),
        "may_log": access.allows(request.user, Action.LOG_WORKOUT, player),
        "is_own": player.user_id == request.user.pk,
        "lives": [(life, label, found.get(life, [])) for life, label in _lives()],
        "goals": sum(len(rows) for rows in found.values()),
        "live": len(found.get(Goal.Life.LIVE, [])),
        "most_live": aims.MOST_LIVE,
        "other_drills": reading.plan_of(request.user, player).get(None, []),
    }
    return render(request, "goals/list.html", page)


@require_GET
def on_skill(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """Whether a goal is on `?skill=` (a slug) for this player, as a line for the coach's pages."""
    player = player_of(request, player_id)
    goals = Goal.objects.visible_to(request.user).live().of_player(player)
    found = {"goals": goals.filter(skill__slug=request.GET.get("skill", ""))}
    return render(request, "goals/_on_skill.html", found)


def _lives() -> list[tuple[str, str]]:
    return [
        (Goal.Life.LIVE, _("Live")),
        (Goal.Life.DRAFT, _("Drafts")),
        (Goal.Life.PAUSED, _("Paused")),
        (Goal.Life.CLOSED, _("Closed")),
    ]


@require_GET
def goal(request: HttpRequest, goal_id: UUID) -> HttpResponse:
    return _goal_page(request, goal_of(request, goal_id), CloseForm(user=request.user))


def _goal_page(
    request: HttpRequest, found: Goal, form: CloseForm, *, refusal: str = ""
) -> HttpResponse:
    coaches = access.allows(request.user, Action.COACH_PLAYER, found.player)
    page = {
        "goal": found,
        "player": found.player,
        "coaches": coaches,
        "is_own": found.player.user_id == request.user.pk,
        "form": form,
        "refusal": refusal,
        "standing": reading.standing_of(found),
        "review_days": reading.review_days(found),
        "reviews": GoalReview.objects.visible_to(request.user).of_goal(found),
        "today": reading.today_of(found.player),
        "drills": reading.drills_of(request.user, found),
        "past": PlanItem.objects.visible_to(request.user).of_goal(found).ended(),
        "examples": GoalExample.objects.visible_to(request.user).of_goal(found),
        "to_pick": reading.examples_to_pick(request.user, found) if coaches else (),
    }
    status = 422 if refusal or form.errors else 200
    return render(request, "goals/goal.html", page, status=status)


@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_of(request, player_id)
    access.require(request.user, Action.COACH_PLAYER, player)
    first = {name: request.GET.get(name, "") for name in ("skill", "drill")}
    form = GoalForm(request.POST or None, user=request.user, player=player, initial=first)
    if request.method == "POST" and form.is_valid():
        try:
            made = services.add_goal(actor=request.user, player=player, aim=form.aim())
        except DomainError as error:
            tell(form, error)
        else:
            messages.success(
                request, _("Kept as a draft: only the coaches see it until you make it live.")
            )
            return redirect("goals:goal", made.pk)
    return _form_page(request, form, player)


@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, goal_id: UUID) -> HttpResponse:
    held = goal_of(request, goal_id)
    access.require(request.user, Action.COACH_PLAYER, held.player)
    form = GoalForm(
        request.POST or None,
        user=request.user, player=held.player, initial=first_of(held), held=held,
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        try:
            services.change_goal(actor=request.user, goal=held, aim=form.aim())
        except DomainError as error:
            tell(form, error)
        else:
            messages.success(request, _("Saved."))
            return redirect("goals:goal", held.pk)
    return _form_page(request, form, held.player, goal=held)


def _form_page(request: HttpRequest, form: GoalForm, player: Player, **more: Any) -> HttpResponse:
    page = {"form": form, "player": player, **more}
    return render(request, "goals/form.html", page, status=422 if form.errors else 200)


@require_POST
def life(request: HttpRequest, goal_id: UUID) -> HttpResponse:
    """One step in a goal's life: begin, pause or resume."""
    held = goal_of(request, goal_id)
    access.require(request.user, Action.COACH_PLAYER, held.player)
    if request.POST.get("step") not in STEPS:
        raise Http404
    step, told = STEPS[request.POST["step"]]
    try:
        step(actor=request.user, goal=held)
    except DomainError as error:
        return _goal_page(request, held, CloseForm(user=request.user), refusal=str(error))
    messages.success(request, told)
    return redirect("goals:goal", held.pk)


@require_POST
def close(request: HttpRequest, goal_id: UUID) -> HttpResponse:
    held = goal_of(request, goal_id)
    access.require(request.user, Action.COACH_PLAYER, held.player)
    form = CloseForm(request.POST, user=request.user)
    if form.is_valid():
        try:
            services.close_goal(actor=request.user, goal=held, words=form.cleaned_data["words"])
        except DomainError as error:
            tell(form, error)
        else:
            messages.success(request, _("The goal is closed."))
            return redirect("goals:list", held.player_id)
    return _goal_page(request, held, form)
