"""Putting something on a list from where it is: a comment's row, a span of a film."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from devplans.core.errors import DomainError
from devplans.feedback import reading as comments_reading
from devplans.feedback.cliplists import services
from devplans.feedback.cliplists.forms import PickForm, SpanForm
from devplans.feedback.cliplists.models import ClipList, ClipListItem
from devplans.feedback.models import Comment
from devplans.film.lookups import coached_film
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad


def chosen_list(request: HttpRequest, form: PickForm, squad: Squad) -> ClipList:
    """The list that the form names, or a new one of its title."""
    found: ClipList | None = form.cleaned_data["clip_list"]
    if found is not None:
        return found
    title = form.cleaned_data["title"]
    return services.add_list(actor=request.user, squad=squad, title=title)


def added(request: HttpRequest, item: ClipListItem, back: str) -> HttpResponse:
    """Says what was done, with how to undo it; a page without scripts goes back."""
    found = ClipList.objects.visible_to(request.user).told().get(pk=item.clip_list_id)
    if not request.htmx:
        words = _("Put on the list “%(title)s”.") % {"title": found.title}
        messages.success(request, words)
        return redirect(back)
    return render(request, "feedback/_cliplist_added.html", {"clip_list": found, "item": item})


@require_http_methods(["GET", "POST"])
def pick(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    """The clip of a comment, put on a list of its squad."""
    comment = get_object_or_404(comments_reading.comments_for(request.user), pk=comment_id)
    squad = comment.film.squad
    access.require(request.user, Action.COACH_SQUAD, squad)
    if comment.withdrawn_at is not None:
        raise PermissionDenied
    ids = f"to-list-{comment.pk}-%s"
    form = PickForm(request.POST or None, user=request.user, squad=squad, auto_id=ids)
    if request.method == "POST" and form.is_valid():
        try:
            with transaction.atomic():
                clip_list = chosen_list(request, form, squad)
                made = services.add_comments(
                    actor=request.user, clip_list=clip_list, comments=[comment]
                )
        except DomainError as error:
            form.add_error(error.field if error.field in form.fields else None, str(error))
        else:
            return added(request, made[0], reverse("film:detail", args=[comment.film_id]))
    return pick_page(request, form, comment=comment, film=comment.film)


@require_http_methods(["GET", "POST"])
def span(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """A bare span of a film, put on a list of its squad."""
    film = coached_film(request, film_id)
    ids = "to-list-span-%s"
    form = SpanForm(request.POST or None, user=request.user, squad=film.squad, auto_id=ids)
    if request.method == "POST" and form.is_valid():
        times = {name: form.cleaned_data[name] for name in ("start_ms", "end_ms")}
        try:
            with transaction.atomic():
                clip_list = chosen_list(request, form, film.squad)
                item = services.add_span(
                    actor=request.user, clip_list=clip_list, film=film, **times
                )
        except DomainError as error:
            form.add_error(error.field if error.field in form.fields else None, str(error))
        else:
            return added(request, item, reverse("film:detail", args=[film.pk]))
    return pick_page(request, form, film=film)


def pick_page(
    request: HttpRequest, form: PickForm, *, film: Any, comment: Comment | None = None
) -> HttpResponse:
    page = {"form": form, "film": film, "comment": comment}
    template = "_cliplist_pick" if request.htmx else "cliplist_pick"
    status = 422 if form.errors else 200
    return render(request, f"feedback/{template}.html", page, status=status)
