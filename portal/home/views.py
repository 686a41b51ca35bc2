from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from devplans.feedback import showing
from devplans.feedback.forms import TextForm
from devplans.people.access import Role
from devplans.workouts import wording
from devplans.workouts.after import reading as after
from devplans.workouts.after.effort import asked_of
from portal.context import roles_of
from portal.home.family import children_of
from portal.home.waiting import waiting_for

HOMES = {
    Role.COACH: "home:waiting",
    Role.DIRECTOR: "home:club",
    Role.GUARDIAN: "home:family",
    Role.PLAYER: "home:today",
    Role.WELFARE: "people:players",
}


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """To the home page of the first role that the person holds."""
    for role in roles_of(request.user):
        return redirect(HOMES[role])
    return render(request, "home/nowhere.html")


def require_role(request: HttpRequest, role: Role) -> None:
    """A home page is there for those who hold its role."""
    if role not in roles_of(request.user):
        raise Http404


@require_GET
def waiting(request: HttpRequest) -> HttpResponse:
    require_role(request, Role.COACH)
    found = waiting_for(request.user)
    request.nav_counts = {"home:waiting": found.count}  # type: ignore[attr-defined]
    return render(request, "home/waiting.html", {"waiting": found})


@require_GET
def today(request: HttpRequest) -> HttpResponse:
    """One delivery at a time; `?clip=` is its key or its place from 1."""
    require_role(request, Role.PLAYER)
    deliveries = showing.for_today(request.user)
    try:
        at = showing.chosen(deliveries, request.GET.get("clip", ""))
    except LookupError:
        return redirect("home:today")
    shown = showing.shown_to(request.user, deliveries[at]) if deliveries else None
    player = request.user.players.select_related("club").order_by("created_at").first()
    found = {
        "shown": shown,
        "form": TextForm(),
        "place": at + 1,
        "count": len(deliveries),
        "previous": deliveries[at - 1] if at else None,
        "next": deliveries[at + 1] if at + 1 < len(deliveries) else None,
        "player": player,
        "pains": after.of_family(request.user),
        "hours": after.hours_of([player])[player.pk],
        "asked": asked_of([player])[player.pk],
        "effort": wording.EFFORT,
    }
    return render(request, "home/today.html", found)


@require_GET
def family(request: HttpRequest) -> HttpResponse:
    require_role(request, Role.GUARDIAN)
    found = {
        "children": children_of(request.user),
        "pains": after.of_family(request.user),
        "effort": wording.EFFORT,
    }
    return render(request, "home/family.html", found)


@require_GET
def club(request: HttpRequest) -> HttpResponse:
    require_role(request, Role.DIRECTOR)
    return redirect("progress:club")
