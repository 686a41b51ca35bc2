from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from devplans.core.errors import DomainError
from devplans.feedback.cliplists import reading, services
from devplans.feedback.cliplists.forms import ListForm, NewListForm, SearchForm
from devplans.feedback.cliplists.models import ClipList, ClipListItem
from devplans.feedback.models import Comment
from devplans.film.models import Film
from devplans.film.services import without_consent
from devplans.film.serving import serve_file
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad

ON_A_PAGE = 20


def seen_list(request: HttpRequest, list_id: UUID) -> ClipList:
    return get_object_or_404(ClipList.objects.visible_to(request.user).told(), pk=list_id)


def coached_list(request: HttpRequest, list_id: UUID) -> ClipList:
    """The list, for its squad's coaches; 403 for others who see it."""
    found = seen_list(request, list_id)
    access.require(request.user, Action.COACH_SQUAD, found.squad)
    return found


@require_http_methods(["GET", "POST"])
def lists(request: HttpRequest) -> HttpResponse:
    """Every list that the user may see; a coach begins a new one here."""
    form = NewListForm(request.POST or None, user=request.user)
    may_add = Squad.objects.allowing(request.user, Action.COACH_SQUAD).exists()
    if request.method == "POST":
        if form.is_valid():
            try:
                made = services.add_list(actor=request.user, **form.cleaned_data)
            except DomainError as error:
                form.add_error(error.field, str(error))
            else:
                return redirect("feedback:cliplist-search", made.pk)
        elif not may_add:
            raise PermissionDenied
    rows = ClipList.objects.visible_to(request.user).told()
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    page.object_list = list(page.object_list)
    reading.mask_titles(request.user, page.object_list)
    found = {"page": page, "form": form, "may_add": may_add}
    status = 422 if form.errors else 200
    return render(request, "feedback/cliplists.html", found, status=status)


@require_GET
def one(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """A coach's page to work on; for everybody else what there is to watch."""
    found = seen_list(request, list_id)
    undo = request.session.pop("cliplist-undo", None)
    return list_page(request, found, undo=undo if undo and undo["list"] == str(list_id) else None)


def list_page(
    request: HttpRequest,
    clip_list: ClipList,
    *,
    undo: dict[str, Any] | None = None,
    problem: str = "",
    form: ListForm | None = None,
    is_part: bool = False,
) -> HttpResponse:
    may_coach = access.allows(request.user, Action.COACH_SQUAD, clip_list.squad)
    words = {"title": clip_list.title, "shows_words": clip_list.shows_words}
    page: dict[str, Any] = {
        "shown": reading.shown(request.user, clip_list),
        "may_coach": may_coach,
        "form": form or ListForm(initial=words),
        "undo": undo,
        "problem": problem,
    }
    if may_coach:
        page["missing"] = without_consent(actor=request.user, squad=clip_list.squad)
    if not page["shown"].is_staff:
        clip_list.title = page["shown"].title
    template = "_cliplist_rows" if is_part else "cliplist"
    status = 422 if problem or (form and form.errors) else 200
    return render(request, f"feedback/{template}.html", page, status=status)


@require_POST
def change(request: HttpRequest, list_id: UUID) -> HttpResponse:
    found = coached_list(request, list_id)
    form = ListForm(request.POST)
    if form.is_valid():
        try:
            services.change_list(actor=request.user, clip_list=found, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            messages.success(request, _("Saved."))
            return redirect("feedback:cliplist", found.pk)
    return list_page(request, coached_list(request, list_id), form=form)


@require_POST
def duplicate(request: HttpRequest, list_id: UUID) -> HttpResponse:
    found = coached_list(request, list_id)
    made = services.duplicate_list(actor=request.user, clip_list=found)
    messages.success(request, _("This is the second list; the first one stays as it is."))
    return redirect("feedback:cliplist", made.pk)


@require_POST
def delete(request: HttpRequest, list_id: UUID) -> HttpResponse:
    found = coached_list(request, list_id)
    title = found.title
    services.delete_list(actor=request.user, clip_list=found)
    messages.success(request, _("“%(title)s” is deleted.") % {"title": title})
    return redirect("feedback:cliplists")


@require_POST
def open_to(request: HttpRequest, list_id: UUID) -> HttpResponse:
    found = coached_list(request, list_id)
    is_wanted = request.POST.get("open_to") == Film.OpenTo.SQUAD
    wanted = Film.OpenTo.SQUAD if is_wanted else Film.OpenTo.COACHES
    try:
        services.open_list(actor=request.user, clip_list=found, open_to=wanted)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _opened_words(found))
    return redirect("feedback:cliplist", found.pk)


def _opened_words(found: ClipList) -> str:
    if found.is_open:
        return _(
            "The squad and its guardians can watch these clips, as soon as each of them is cut; "
            "of the films nothing else."
        )
    return _("Only coaches and directors can watch this list now.")


@require_GET
def show(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """The page for the meeting room, and for whoever may watch."""
    found = reading.shown(request.user, seen_list(request, list_id))
    page = {"shown": found, "programme": reading.programme(found)}
    return render(request, "feedback/cliplist_show.html", page)


@require_safe
def clip(request: HttpRequest, list_id: UUID, item_id: UUID) -> HttpResponseBase:
    """The cut file of one clip, with the right of its list."""
    items = ClipListItem.objects.visible_to(request.user).standing().in_order()
    items = items.select_related("clip_list__squad", "comment__drawing")
    item = get_object_or_404(items, pk=item_id, clip_list=list_id)
    cut = reading.cut_of(item)
    if cut is None:
        raise Http404
    return serve_file(
        request, cut.video_key, content_type="video/mp4", etag=cut.pk.hex, filename="clip.mp4"
    )


@require_GET
def search(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """Comments of the squad's films, to be put on the list."""
    found = coached_list(request, list_id)
    form = SearchForm(request.GET or None, user=request.user, squad=found.squad)
    asked = form.cleaned_data if form.is_bound and form.is_valid() else {}
    rows = reading.candidates(request.user, found.squad, reading.Wanted(**asked))
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    there = set(found.items.standing().values_list("comment_id", flat=True))
    more = {
        "clip_list": found,
        "form": form,
        "page": page,
        "there": there,
        "is_searched": any(asked.values()),
    }
    return render(request, "feedback/cliplist_search.html", more)


@require_POST
def add(request: HttpRequest, list_id: UUID) -> HttpResponse:
    """Put the chosen comments' clips on the list, in the order shown."""
    found = coached_list(request, list_id)
    chosen = [key for key in request.POST.getlist("comment") if _is_key(key)]
    rows = Comment.objects.visible_to(request.user).filter(pk__in=chosen, withdrawn_at=None)
    by_key = {str(row.pk): row for row in rows.select_related("film", "skill")}
    comments = [by_key[key] for key in dict.fromkeys(chosen) if key in by_key]
    try:
        made = services.add_comments(actor=request.user, clip_list=found, comments=comments)
    except DomainError as error:
        messages.error(request, str(error))
        return redirect("feedback:cliplist-search", found.pk)
    words = ngettext("%(count)s clip added.", "%(count)s clips added.", len(made))
    messages.success(request, words % {"count": len(made)})
    return redirect("feedback:cliplist", found.pk)


def _is_key(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True
