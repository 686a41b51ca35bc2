"""What the pages of this app share: running a service for a form, and choosing the club."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club


def posted(request: HttpRequest) -> Any:
    """What was sent, also where nothing was filled in; None where the page was only opened."""
    return request.POST if request.method == "POST" else None


def attempt(form: forms.Form, service: Callable[..., Any], **arguments: Any) -> Any:
    """Run a service for a valid form; None where it refuses, which is then told at the field."""
    try:
        return service(**arguments)
    except DomainError as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return None


def told(request: HttpRequest, service: Callable[..., Any], success: str, **arguments: Any) -> bool:
    """Run a service for a mere button; what came of it is said on the next page."""
    try:
        service(**arguments)
    except DomainError as error:
        messages.error(request, str(error))
        return False
    messages.success(request, success)
    return True


def form_page(
    request: HttpRequest, form: forms.Form, *, title: str, action: str, back: str, lead: str = ""
) -> HttpResponse:
    """A page with one form; 422 where it came back with errors."""
    context = {"form": form, "title": title, "action": action, "back": back, "lead": lead}
    status = 422 if form.is_bound else 200
    return render(request, "people/form_page.html", context, status=status)


def club_to_run(request: HttpRequest) -> Club:
    """The club whose director is asking: the one in `?club=`, else the first.

    404 for those who belong to no club, 403 for those who do not run theirs.
    """
    clubs = Club.objects.visible_to(request.user).order_by("created_at")
    wanted = request.GET.get("club")
    if wanted:
        club = get_object_or_404(clubs, pk=wanted) if _is_uuid(wanted) else None
    else:
        club = clubs.allowing(request.user, Action.RUN_CLUB).first() or clubs.first()
    if club is None:
        club = get_object_or_404(clubs.none())
    access.require(request.user, Action.RUN_CLUB, club)
    return club


def _is_uuid(text: str) -> bool:
    return len(text) == 36 and all(letter in "0123456789abcdef-" for letter in text.lower())
