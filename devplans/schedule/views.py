from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule import services
from devplans.schedule.forms import EventForm, NewEventForm, initial_of
from devplans.schedule.models import Event

PAGE = 40


@require_GET
def calendar(request: HttpRequest, squad_id: UUID | None = None) -> HttpResponse:
    """The dates of one squad, or of all squads that the user reads: those ahead, or those past."""
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = None if squad_id is None else get_object_or_404(squads, pk=squad_id)
    shown = [squad] if squad else list(squads)
    past = request.GET.get("when") == "past"
    events = Event.objects.visible_to(request.user).of_squads(shown)
    now = timezone.now()
    rows = events.over(now) if past else events.ahead(now)
    keeping = Squad.objects.allowing(request.user, Action.KEEP_CALENDAR)
    kept = set(keeping.values_list("pk", flat=True))
    page = {
        "squad": squad,
        "squads": list(squads),
        "past": past,
        "page": Paginator(rows, PAGE).get_page(request.GET.get("page")),
        "kept": kept,
        "keeping": [row for row in shown if row.pk in kept],
    }
    return render(request, "schedule/calendar.html", page)


@require_http_methods(["GET", "POST"])
def event_add(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = get_object_or_404(squads, pk=squad_id)
    access.require(request.user, Action.KEEP_CALENDAR, squad)
    form = NewEventForm(request.POST or None, user=request.user, zone=squad.club.zone)
    if request.method == "POST" and _added(request, form, squad):
        return redirect("schedule:calendar", squad.pk)
    return _form_page(request, form, squad=squad)


def _added(request: HttpRequest, form: NewEventForm, squad: Squad) -> bool:
    if not form.is_valid():
        return False
    plan, until = form.cleaned_data["plan"], form.cleaned_data["until"]
    try:
        if until is None:
            events = [services.add_event(actor=request.user, squad=squad, plan=plan)]
        else:
            events = services.add_weekly(actor=request.user, squad=squad, plan=plan, until=until)
    except DomainError as error:
        form.add_error(error.field, str(error))
        return False
    text = ngettext("%(count)s date added.", "%(count)s dates added.", len(events))
    messages.success(request, text % {"count": len(events)})
    return True


def _keepable(request: HttpRequest, event_id: UUID) -> Event:
    rows = Event.objects.visible_to(request.user).select_related("squad__season__club")
    event: Event = get_object_or_404(rows, pk=event_id)
    access.require(request.user, Action.KEEP_CALENDAR, event.squad)
    return event


@require_http_methods(["GET", "POST"])
def event_edit(request: HttpRequest, event_id: UUID) -> HttpResponse:
    event = _keepable(request, event_id)
    form = EventForm(
        request.POST or None, initial=initial_of(event), user=request.user, zone=event.zone
    )
    if request.method == "POST" and _changed(request, form, event):
        return redirect("schedule:calendar", event.squad_id)
    later = Event.objects.visible_to(request.user).series_from(event).count()
    return _form_page(request, form, squad=event.squad, event=event, later=later)


def _changed(request: HttpRequest, form: EventForm, event: Event) -> bool:
    if not form.is_valid():
        return False
    try:
        services.change_event(actor=request.user, event=event, plan=form.cleaned_data["plan"])
    except DomainError as error:
        form.add_error(error.field, str(error))
        return False
    messages.success(request, _("Saved."))
    return True


def _form_page(request: HttpRequest, form: EventForm, **page: Any) -> HttpResponse:
    status = 422 if form.errors else 200
    return render(request, "schedule/event_form.html", {"form": form, **page}, status=status)


@require_POST
def event_cancel(request: HttpRequest, event_id: UUID) -> HttpResponse:
    event = _keepable(request, event_id)
    and_later = request.POST.get("scope") == "later"
    count = services.cancel_event(actor=request.user, event=event, and_later=and_later)
    text = ngettext("%(count)s date cancelled.", "%(count)s dates cancelled.", count)
    messages.success(request, text % {"count": count})
    return redirect("schedule:calendar", event.squad_id)


@require_POST
def event_restore(request: HttpRequest, event_id: UUID) -> HttpResponse:
    event = _keepable(request, event_id)
    services.restore_event(actor=request.user, event=event)
    messages.success(request, _("Back in the calendar."))
    return redirect("schedule:calendar", event.squad_id)
