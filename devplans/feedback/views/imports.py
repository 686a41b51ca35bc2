from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.feedback import importing, reading, roster, services
from devplans.feedback.forms import FileOrTextForm
from devplans.feedback.noted import MOST_BYTES
from devplans.film.lookups import coached_film
from devplans.film.models import Film


class ImportForm(FileOrTextForm):
    """A file of comments, or its text."""

    accept = ".vtt,.jsonld,.json,.csv,text/vtt"


def upload_page(
    request: HttpRequest, film: Film, form: ImportForm, faults: list[str] | None = None
) -> HttpResponse:
    status = 422 if form.is_bound else 200
    found = {"film": film, "form": form, "faults": faults or []}
    return render(request, "feedback/import.html", found, status=status)


@require_http_methods(["GET", "POST"])
def comments_import(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Choose a file of comments; answers with what is understood of it. Nothing is written."""
    film = coached_film(request, film_id)
    if request.method == "GET":
        return upload_page(request, film, ImportForm())
    form = ImportForm(request.POST, request.FILES)
    if not form.is_valid():
        return upload_page(request, film, form)
    return preview(request, film, form)


def preview(
    request: HttpRequest, film: Film, form: ImportForm, *, refused: str = "", status: int = 200
) -> HttpResponse:
    content = form.content(MOST_BYTES)
    file = importing.read(content)
    plan = services.plan_import(actor=request.user, film=film, file=file, choices=chosen(request))
    if plan.faults or not (plan.rows or plan.problems):
        faults = plan.faults or [_("There are no comments in this file.")]
        return upload_page(request, film, form, faults)
    found = {
        "film": film,
        "plan": plan,
        "text": content.decode("utf-8-sig"),
        "skills": reading.skills_for(film.squad.season.club),
        "entries": roster.roster(film),
        "left_out": request.POST.getlist("left_out"),
        "refused": refused,
    }
    return render(request, "feedback/import_preview.html", found, status=status)


def chosen(request: HttpRequest) -> dict[str, str]:
    """The picks of the preview's form, by the names of what was asked."""
    names = ("skill-", "player-", importing.NO_PLAYERS)
    return {name: str(value) for name, value in request.POST.items() if name.startswith(names)}


@require_POST
def comments_import_accept(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Keep what was shown as drafts. The text comes back and is read again."""
    film = coached_film(request, film_id)
    form = ImportForm(request.POST)
    if not form.is_valid():
        return upload_page(request, film, form)
    if "again" in request.POST:
        return preview(request, film, form)
    try:
        made = services.import_comments(
            actor=request.user,
            film=film,
            file=importing.read(form.content(MOST_BYTES)),
            choices=chosen(request),
            left_out=set(request.POST.getlist("left_out")),
        )
    except DomainError as error:
        return preview(request, film, form, refused=str(error), status=422)
    words = ngettext(
        "%(count)s draft kept. Nothing has been sent.",
        "%(count)s drafts kept. Nothing has been sent.",
        len(made),
    )
    messages.success(request, words % {"count": len(made)})
    return redirect("film:detail", film.pk)
