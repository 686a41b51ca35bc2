"""Talking over the film page: its fragment, and what its script sends while a coach talks."""

import json
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import Conflict, DomainError
from devplans.film.lookups import coached_film
from devplans.talkthrough import heard, hearing, speech, tasks
from devplans.talkthrough.models import TalkThrough
from devplans.talkthrough.services import recording

TALKS_SHOWN = 3
STATUSES = {
    "talk.over": 409,
    "talk.busy": 503,
    "file.room": 507,
    "piece.size": 413,
    "talk.size": 413,
    "take.long": 413,
}


def refused(error: DomainError) -> JsonResponse:
    status = 409 if isinstance(error, Conflict) else STATUSES.get(error.code, 400)
    return JsonResponse({"detail": str(error), "code": error.code}, status=status)


def sent(request: HttpRequest) -> dict[str, Any]:
    """The JSON body; one that is no JSON object is an empty one."""
    try:
        found = json.loads(request.body)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def own_talk(request: HttpRequest, talk_id: UUID) -> TalkThrough:
    return get_object_or_404(TalkThrough.objects.visible_to(request.user).with_film(), pk=talk_id)


@require_GET
def over(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """The fragment of the film page, with one's own talks over this film."""
    film = coached_film(request, film_id)
    talks = TalkThrough.objects.visible_to(request.user).of_film(film).not_corrected()
    newest_first = list(talks)[::-1]
    found = {
        "film": film,
        "talks": newest_first[:TALKS_SHOWN],
        "more": len(newest_first[TALKS_SHOWN:]),
        "deaf": _(speech.why_not()) if not speech.available() else "",
        "transcript_url": reverse("talkthrough:transcript", args=[film.pk]),
    }
    return render(request, "talkthrough/_over.html", found)


@require_http_methods(["PUT"])
def begin(request: HttpRequest, film_id: UUID, talk_id: UUID) -> HttpResponse:
    """Begins a talk under a key that the browser made."""
    film = coached_film(request, film_id)
    own = TalkThrough.objects.visible_to(request.user)
    if TalkThrough.objects.known([talk_id]) and not own.known([talk_id]):
        raise Http404
    told = sent(request)
    # Somebody else may have signed in on that machine since the words were said.
    if told.get("person", str(request.user.pk)) != str(request.user.pk):
        raise PermissionDenied
    kind = str(told.get("kind", ""))
    try:
        talk = recording.begin_talk(actor=request.user, film=film, talk_id=talk_id, kind=kind)
    except DomainError as error:
        return refused(error)
    return JsonResponse({"id": str(talk.pk), "state": talk.state})


@require_http_methods(["PUT", "DELETE"])
def take(request: HttpRequest, talk_id: UUID, number: int) -> HttpResponse:
    """Begins a take, keeps its log, and ends it where its length is told; or drops it."""
    talk = own_talk(request, talk_id)
    if request.method == "DELETE":
        return _answered(lambda: recording.drop_take(actor=request.user, talk=talk, number=number))
    told = sent(request)

    def keep() -> None:
        found = recording.begin_take(
            actor=request.user, talk=talk, number=number, mime=str(told.get("mime", ""))
        )
        if "log" in told:
            recording.note_log(actor=request.user, take=found, log=told["log"])
        length_ms = told.get("length_ms")
        if isinstance(length_ms, int):
            recording.end_take(actor=request.user, take=found, length_ms=length_ms)

    return _answered(keep)


@require_http_methods(["PUT"])
def piece(request: HttpRequest, talk_id: UUID, number: int, piece_number: int) -> HttpResponse:
    """Keeps a piece of sound; the body is the sound and nothing else."""
    talk = own_talk(request, talk_id)
    found = get_object_or_404(talk.takes.select_related("talk__film__squad"), number=number)
    if int(request.META.get("CONTENT_LENGTH") or 0) > recording.MOST_PIECE_BYTES:
        return JsonResponse({"detail": "", "code": "piece.size"}, status=413)
    answer = _answered(
        lambda: recording.keep_piece(
            actor=request.user, take=found, number=piece_number, content=request.body
        )
    )
    if talk.kind == TalkThrough.Kind.WHOLE and hearing.is_time(piece_number):
        tasks.hear_so_far.delay_on_commit(str(found.pk))
    return answer


@require_POST
def recorded(request: HttpRequest, talk_id: UUID) -> HttpResponse:
    """All is said and here: from now on it is written down."""
    talk = own_talk(request, talk_id)
    return _answered(lambda: recording.finish_talk(actor=request.user, talk=talk))


@require_GET
def lines(request: HttpRequest, talk_id: UUID) -> HttpResponse:
    """JSON: how far a talk is and what was heard."""
    return JsonResponse(heard.facts(own_talk(request, talk_id)))


@require_POST
def delete(request: HttpRequest, talk_id: UUID) -> HttpResponse:
    """Throws one's own talk away; JSON for a script, else back to the film."""
    talk = own_talk(request, talk_id)
    recording.delete_talk(actor=request.user, talk=talk)
    if request.accepts("text/html"):
        return redirect("film:detail", talk.film_id)
    return JsonResponse({"deleted": str(talk_id)})


def _answered(act: Any) -> JsonResponse:
    try:
        act()
    except DomainError as error:
        return refused(error)
    return JsonResponse({"kept": True})
