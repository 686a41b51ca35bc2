from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.schedule.models import Event
from devplans.workouts.attendance import reading, services
from devplans.workouts.attendance.models import Attendance

UNDO = "attendance_undo"


@require_http_methods(["GET", "POST"])
def attendance(request: HttpRequest, event_id: UUID) -> HttpResponse:
    """Who was at this practice or game: a tap for each player, or one for all of them."""
    events = Event.objects.visible_to(request.user).select_related("squad__season__club")
    event = get_object_or_404(events, pk=event_id)
    access.require(request.user, Action.KEEP_CALENDAR, event.squad)
    if request.method == "POST":
        try:
            _mark(request, event)
        except DomainError as error:
            messages.error(request, str(error))
        return redirect("workouts:attendance", event.pk)
    rows = reading.ticked(event)
    page = {
        "event": event,
        "rows": rows,
        "counts": reading.counts(rows),
        "states": Attendance.State.choices,
        "has_begun": reading.has_begun(event),
        "can_undo": bool(_undo(request, event)),
    }
    return render(request, "workouts/attendance.html", page)


def _mark(request: HttpRequest, event: Event) -> None:
    """Do what was tapped, and keep in the session what takes it back."""
    does = request.POST.get("do", "")
    if does == "all":
        before = services.mark_rest_present(actor=request.user, event=event)
    else:
        marks = _undo(request, event) if does == "undo" else _tapped(request)
        before = services.mark_attendance(actor=request.user, event=event, marks=marks)
    if does == "undo":
        request.session.pop(UNDO, None)
    elif before:
        kept = {str(key): state for key, state in before.items()}
        request.session[UNDO] = {"event": str(event.pk), "marks": kept}


def _tapped(request: HttpRequest) -> dict[UUID, str]:
    """The player and the state of the button; a state that stands already is taken away."""
    player, _colon, state = request.POST.get("mark", "").partition(":")
    try:
        return {UUID(player): state}
    except ValueError:
        return {}


def _undo(request: HttpRequest, event: Event) -> dict[UUID, Any]:
    kept = request.session.get(UNDO) or {}
    if kept.get("event") != str(event.pk):
        return {}
    return {UUID(key): state for key, state in kept["marks"].items()}
