"""The files of a film, each with the right of its page. The original is never among them."""

import re
from uuid import UUID

from django.core.files.storage import default_storage
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from devplans.core.errors import Conflict, DomainError
from devplans.film import pictures
from devplans.film.faults import MediaError
from devplans.film.models import Film
from devplans.film.serving import serve_bytes, serve_file


def film_file(
    request: HttpRequest, film_id: UUID, field: str, content_type: str
) -> HttpResponseBase:
    film = get_object_or_404(Film.objects.visible_to(request.user), pk=film_id)
    key = getattr(film, field)
    if not key:
        raise Http404
    # Each preparing writes files of its own, so a key never means two contents.
    etag = key.replace("/", "-")
    return serve_file(request, key, content_type=content_type, etag=etag)


def stored_bytes(
    request: HttpRequest, film_id: UUID, field: str, content_type: str
) -> HttpResponseBase:
    """A small file out of wherever it lies; the right to it was asked for already."""
    film = get_object_or_404(Film.objects.visible_to(request.user), pk=film_id)
    key = getattr(film, field)
    with default_storage.open(key) as file:
        body = file.read()
    return serve_bytes(request, body, content_type=content_type, etag=key.replace("/", "-"))


@require_safe
def film_play(request: HttpRequest, film_id: UUID) -> HttpResponseBase:
    return film_file(request, film_id, "playable_key", "video/mp4")


@require_safe
def film_poster(request: HttpRequest, film_id: UUID) -> HttpResponseBase:
    return film_file(request, film_id, "poster_key", "image/jpeg")


@require_safe
def film_frames(request: HttpRequest, film_id: UUID) -> HttpResponseBase:
    answer = film_file(request, film_id, "frames_key", "application/json")
    if answer.status_code == 302:
        # A script reads it: from a bucket it would need that one's leave, and come packed up.
        answer = stored_bytes(request, film_id, "frames_key", "application/json")
    if answer.status_code == 200:
        answer["Content-Encoding"] = "gzip"
    return answer


@require_safe
def film_sprite(request: HttpRequest, film_id: UUID) -> HttpResponseBase:
    """Sheet number `?sheet=` of the small pictures, see devplans.film.sprite."""
    film = get_object_or_404(Film.objects.visible_to(request.user), pk=film_id)
    keys = dict(enumerate(film.sprite.get("keys", [])))
    wanted = request.GET.get("sheet", "0")
    key = keys.get(int(wanted)) if re.fullmatch("[0-9]{1,3}", wanted) else None
    if key is None:
        raise Http404
    return serve_file(request, key, content_type="image/jpeg", etag=key.replace("/", "-"))


@require_safe
def film_still(request: HttpRequest, film_id: UUID) -> HttpResponseBase:
    film = get_object_or_404(Film.objects.visible_to(request.user), pk=film_id)
    if not pictures.has_stills(film):
        raise Http404
    try:
        ms = pictures.asked_ms(request.GET.get("ms"))
        body = pictures.still_of(film, ms)
    except Conflict as error:
        return HttpResponse(str(error), status=409, content_type="text/plain")
    except DomainError as error:
        return JsonResponse({"ms": [str(error)]}, status=400)
    except MediaError as error:
        raise Http404 from error
    return serve_bytes(request, body, content_type="image/jpeg", etag=pictures.etag_of(film, ms))
