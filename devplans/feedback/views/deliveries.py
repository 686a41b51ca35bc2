from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from devplans.core.errors import DomainError
from devplans.feedback import reading, services, showing, webvtt
from devplans.feedback.forms import TextForm
from devplans.feedback.models import Delivery
from devplans.feedback.voices import keeping
from devplans.film.marks import game_clock
from devplans.film.serving import serve_bytes, serve_file
from devplans.people.models import Player

ON_A_PAGE = 20


def seen_delivery(request: HttpRequest, delivery_id: UUID) -> Delivery:
    deliveries = reading.with_clips(Delivery.objects.visible_to(request.user).told())
    return get_object_or_404(deliveries, pk=delivery_id)


def thread_page(
    request: HttpRequest, found: Delivery, *, form: TextForm | None = None, status: int = 200
) -> HttpResponse:
    shown = showing.shown_to(request.user, found)
    comment = found.comment
    comment.film.squad = found.thread.squad or comment.film.squad
    clock = game_clock(comment.film).label(comment.start_ms)
    page = {"shown": shown, "form": form or TextForm(), "clock": clock}
    return render(request, "feedback/delivery.html", page, status=status)


@require_GET
def delivery(request: HttpRequest, delivery_id: UUID) -> HttpResponse:
    found = seen_delivery(request, delivery_id)
    services.note_reading(actor=request.user, delivery=found)
    return thread_page(request, found)


@require_GET
def deliveries(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """Everything that a player was sent, newest first."""
    player = get_object_or_404(Player.objects.visible_to(request.user), pk=player_id)
    rows = Delivery.objects.visible_to(request.user).of_player(player).told()
    rows = reading.with_talk(reading.with_clips(rows)).order_by("-sent_at", "-pk")
    page = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    services.note_list_reading(actor=request.user, player=player)
    found = {"player": player, "page": page, "is_own": player.user_id == request.user.pk}
    return render(request, "feedback/deliveries.html", found)


@require_safe
def clip(request: HttpRequest, delivery_id: UUID) -> HttpResponseBase:
    found = seen_delivery(request, delivery_id)
    video = reading.newest_clip(found.comment)
    if not found.has_clip or video is None:
        raise Http404
    return serve_file(
        request,
        video.video_key,
        content_type="video/mp4",
        etag=f"{video.pk}-{video.version}",
        filename="clip.mp4",
    )


@require_safe
def captions(request: HttpRequest, delivery_id: UUID) -> HttpResponseBase:
    """What the coach says in the clip, for who cannot hear it, with the clip's own right."""
    found = seen_delivery(request, delivery_id)
    spoken = keeping.captions_for(found) if found.has_clip and found.has_voice else []
    if not spoken:
        raise Http404
    words = webvtt.captions(spoken, note=_("What your coach says"))
    return serve_bytes(request, words.encode(), content_type="text/vtt; charset=utf-8")


@require_safe
def delivery_still(request: HttpRequest, delivery_id: UUID) -> HttpResponseBase:
    found = seen_delivery(request, delivery_id)
    if not found.is_shown or not found.still_key:
        raise Http404
    etag = found.still_key.rsplit("/", 1)[-1]
    return serve_file(
        request, found.still_key, content_type="image/jpeg", etag=etag, filename="still.jpg"
    )


def back(request: HttpRequest, found: Delivery) -> HttpResponse:
    """To the page that the button was on."""
    if request.POST.get("from") == "today":
        return redirect(f"{reverse('home:today')}?{urlencode({'clip': found.pk})}")
    return redirect("feedback:delivery", found.pk)


@require_POST
def delivery_seen(request: HttpRequest, delivery_id: UUID) -> HttpResponse:
    found = seen_delivery(request, delivery_id)
    services.mark_seen(actor=request.user, delivery=found)
    return HttpResponse(status=204)


@require_POST
def delivery_understood(request: HttpRequest, delivery_id: UUID) -> HttpResponse:
    found = seen_delivery(request, delivery_id)
    try:
        services.say_understood(actor=request.user, delivery=found)
    except DomainError as error:
        return refused(request, found, TextForm(), error)
    return back(request, found)


def _write(request: HttpRequest, delivery_id: UUID, service: Any) -> HttpResponse:
    found = seen_delivery(request, delivery_id)
    form = TextForm(request.POST)
    if not form.is_valid():
        # An empty text is refused by the same rights as a written one.
        services.require_may_write(actor=request.user, delivery=found)
        return thread_page(request, found, form=form, status=422)
    try:
        service(actor=request.user, delivery=found, text=form.cleaned_data["text"])
    except DomainError as error:
        return refused(request, found, form, error)
    return back(request, found)


def refused(
    request: HttpRequest, found: Delivery, form: TextForm, error: DomainError
) -> HttpResponse:
    if not form.is_bound:
        form = TextForm({"text": ""})
        form.errors.clear()
    form.add_error(error.field if error.field == "text" else None, str(error))
    return thread_page(request, found, form=form, status=422)


@require_POST
def delivery_ask(request: HttpRequest, delivery_id: UUID) -> HttpResponse:
    return _write(request, delivery_id, services.ask)


@require_POST
def delivery_reply(request: HttpRequest, delivery_id: UUID) -> HttpResponse:
    return _write(request, delivery_id, services.reply)
