import json
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRefresh, trigger_client_event

from devplans.core.errors import DomainError
from devplans.film import intake, marks, noting, services, turns
from devplans.film.forms import FilmForm, UploadForm
from devplans.film.lookups import seen_film
from devplans.film.models import Film
from devplans.film.uploads import services as uploading
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad

FILMS_ON_A_PAGE = 20


def coaches(request: HttpRequest) -> bool:
    return Squad.objects.allowing(request.user, Action.COACH_SQUAD).exists()


@require_GET
def film_list(request: HttpRequest) -> HttpResponse:
    films = Film.objects.visible_to(request.user).newest_first()
    page = Paginator(films, FILMS_ON_A_PAGE).get_page(request.GET.get("page"))
    is_busy = any(film.is_unfinished for film in page)
    found = {"page": page, "is_busy": is_busy, "may_add": coaches(request)}
    return render(request, "film/film_list.html", found)


@require_http_methods(["GET", "POST"])
def film_upload(request: HttpRequest) -> HttpResponse:
    if request.method == "GET":
        if not coaches(request):
            raise PermissionDenied
        chosen = {"squad": request.GET.get("squad"), "event": request.GET.get("event")}
        return upload_page(request, UploadForm(user=request.user, initial=chosen))
    form = UploadForm(request.POST, request.FILES, user=request.user)
    refused = intake.refusal(request)
    if refused:
        form.errors.pop("file", None)
        form.add_error("file", str(refused))
    elif form.is_valid():
        try:
            film = services.add_film(actor=request.user, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            return redirect("film:detail", film.pk)
    elif not coaches(request):
        raise PermissionDenied
    return upload_page(request, form, status=422)


def upload_page(request: HttpRequest, form: UploadForm, status: int = 200) -> HttpResponse:
    limit = settings.FILM_MAX_BYTES
    found = {"form": form, "max_bytes": limit, "max_words": intake.in_words(limit)}
    found["unfinished"] = Film.objects.visible_to(request.user).sent_by(request.user)
    return render(request, "film/film_upload.html", found, status=status)


@require_GET
def film_detail(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    may_coach = access.allows(request.user, Action.COACH_SQUAD, film.squad)
    is_staff = may_coach or Film.objects.for_staff(request.user).contains(film)
    found = {"film": film, "may_coach": may_coach, "is_staff": is_staff}
    found["at_work"] = is_staff if film.is_ready else may_coach and film.is_on_its_way
    if film.is_unfinished:
        turns.want(film)
        found["turn_words"] = turns.words_of(film)
    if is_staff:
        found["notes"] = noting.words_of(film.notes)
    if found["at_work"] and not film.is_ready:
        found |= uploading.on_its_way(actor=request.user, film=film)
    if is_staff:
        marked = marks.film_marks(request.user, film)
        found["possessions_json"] = json.dumps({"possessions": marked.pop("possessions")})
        found["clock_json"] = json.dumps(marked)
    if may_coach:
        found["missing"] = services.without_consent(actor=request.user, squad=film.squad)
    return render(request, "film/film_detail.html", found)


@require_GET
def film_state(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    # The page around it, with its choices, is another one when the film has been fetched.
    is_fetched = "fetching" in request.GET and not film.is_being_fetched
    if request.htmx and film.is_ready and "here" in request.GET:
        return taken_over(film)
    if request.htmx and (is_fetched or not (film.is_unfinished or film.is_uploading)):
        return HttpResponseClientRefresh()
    found: dict[str, Any] = {"film": film}
    if film.is_unfinished:
        turns.want(film)
        found["turn_words"] = turns.words_of(film)
    if film.is_uploading:
        found |= uploading.on_its_way(actor=request.user, film=film)
    return render(request, "film/_film_state.html", found)


def taken_over(film: Film) -> HttpResponse:
    """For a page that plays the film off its device: it takes the copy, and loses nothing."""
    copy = {
        "src": reverse("film:play", args=[film.pk]),
        "frames": reverse("film:frames", args=[film.pk]),
        "durationMs": film.duration_ms,
        "problem": film.problem,
    }
    answer = HttpResponse('<div class="film-state"></div>')
    return trigger_client_event(answer, "film:ready", copy)


@require_http_methods(["GET", "POST"])
def film_change(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    access.require(request.user, Action.COACH_SQUAD, film.squad)
    form = FilmForm(request.POST or None, user=request.user, film=film)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_film(actor=request.user, film=film, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            messages.success(request, _("Saved."))
            return redirect("film:detail", film.pk)
    status = 422 if request.method == "POST" else 200
    return render(request, "film/film_change.html", {"film": film, "form": form}, status=status)


@require_POST
def film_open(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    is_wanted = request.POST.get("open_to") == Film.OpenTo.SQUAD
    open_to = Film.OpenTo.SQUAD if is_wanted else Film.OpenTo.COACHES
    try:
        services.open_film(actor=request.user, film=film, open_to=open_to)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, opened_words(film))
    return redirect("film:detail", film.pk)


def opened_words(film: Film) -> str:
    if film.open_to == Film.OpenTo.SQUAD:
        return _("The squad and its guardians can now watch this film.")
    return _("Only coaches and directors can watch this film now.")


@require_http_methods(["GET", "POST"])
def film_delete(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    access.require(request.user, Action.COACH_SQUAD, film.squad)
    found: dict[str, Any] = {"film": film}
    if request.method == "GET":
        return render(request, "film/film_delete.html", found)
    try:
        services.delete_film(actor=request.user, film=film)
    except DomainError as error:
        return render(
            request, "film/film_delete.html", {**found, "refused": str(error)}, status=422
        )
    messages.success(request, _("“%(title)s” is deleted.") % {"title": film.title})
    return redirect("film:list")
