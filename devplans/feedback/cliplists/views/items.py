"""The clips of one list: to another place, out and back in, another note or span.

Each change answers with the rows of the list and with how to undo it.
"""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from devplans.core.errors import DomainError
from devplans.feedback import times
from devplans.feedback.cliplists import services
from devplans.feedback.cliplists.forms import ItemForm
from devplans.feedback.cliplists.models import ClipListItem
from devplans.feedback.cliplists.views.lists import coached_list, list_page


def coached_item(request: HttpRequest, list_id: UUID, item_id: UUID) -> ClipListItem:
    """The clip, for the coaches of its squad; 403 for others who see its list."""
    found = coached_list(request, list_id)
    items = ClipListItem.objects.visible_to(request.user).in_order()
    item = get_object_or_404(items, pk=item_id, clip_list=found)
    item.clip_list = found
    return item


def undoing(item: ClipListItem, words: str, route: str, **fields: Any) -> dict[str, Any]:
    """How the page offers to take a change back: its words, and the form that does it."""
    address = reverse(route, args=[item.clip_list_id, item.pk])
    typed = {name: "" if value is None else str(value) for name, value in fields.items()}
    return {"list": str(item.clip_list_id), "words": words, "address": address, "fields": typed}


def answered(
    request: HttpRequest, item: ClipListItem, undo: dict[str, Any] | None, problem: str = ""
) -> HttpResponse:
    """The rows for an open page, else the page again."""
    if request.htmx:
        found = coached_list(request, item.clip_list_id)
        return list_page(request, found, undo=undo, problem=problem, is_part=True)
    if problem:
        messages.error(request, problem)
    request.session["cliplist-undo"] = undo
    return redirect("feedback:cliplist", item.clip_list_id)


@require_POST
def move(request: HttpRequest, list_id: UUID, item_id: UUID) -> HttpResponse:
    """`by` is -1 or 1; or `after` the key of the clip to stand behind, empty for the first place"""
    item = coached_item(request, list_id, item_id)
    try:
        if "by" in request.POST:
            by = -1 if request.POST["by"] == "-1" else 1
            before = services.step_item(actor=request.user, item=item, by=by)
        else:
            after = _key(request.POST.get("after", ""))
            before = services.move_item(actor=request.user, item=item, after=after)
    except DomainError as error:
        return answered(request, item, None, str(error))
    undo = undoing(item, _("The clip has another place."), "feedback:cliplist-move", after=before)
    return answered(request, item, undo)


def _key(text: str) -> UUID | None:
    try:
        return UUID(text) if text else None
    except ValueError:
        message = _("The list has changed meanwhile: look at it again.")
        raise DomainError("after.gone", message) from None


@require_POST
def remove(request: HttpRequest, list_id: UUID, item_id: UUID) -> HttpResponse:
    item = coached_item(request, list_id, item_id)
    services.remove_item(actor=request.user, item=item)
    undo = undoing(item, _("The clip is off the list."), "feedback:cliplist-restore")
    return answered(request, item, undo)


@require_POST
def restore(request: HttpRequest, list_id: UUID, item_id: UUID) -> HttpResponse:
    item = coached_item(request, list_id, item_id)
    try:
        services.restore_item(actor=request.user, item=item)
    except DomainError as error:
        return answered(request, item, None, str(error))
    undo = undoing(item, _("The clip is back on the list."), "feedback:cliplist-remove")
    return answered(request, item, undo)


@require_POST
def change(request: HttpRequest, list_id: UUID, item_id: UUID) -> HttpResponse:
    item = coached_item(request, list_id, item_id)
    form = ItemForm(request.POST)
    if not form.is_valid():
        return answered(request, item, None, _first_words(form))
    old = {
        "note": item.note,
        "start_ms": times.told(item.start_ms),
        "end_ms": times.told(item.end_ms),
    }
    try:
        services.change_item(actor=request.user, item=item, **form.cleaned_data)
    except DomainError as error:
        return answered(request, item, None, str(error))
    undo = undoing(item, _("The clip has changed."), "feedback:cliplist-item", **old)
    return answered(request, item, undo)


def _first_words(form: ItemForm) -> str:
    return next(f"{form[name].label}: {errors[0]}" for name, errors in form.errors.items())
