from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from devplans.core.errors import DomainError
from devplans.feedback import checking, services
from devplans.film.lookups import coached_film
from devplans.film.marks import game_clock


def check_page(request: HttpRequest, film: Any, status: int = 200) -> HttpResponse:
    found = {"film": film, "check": checking.check(film, request.user)}
    game = game_clock(film)
    for comment in found["check"].comments:
        comment.clock = game.label(comment.start_ms)
    return render(request, "feedback/check.html", found, status=status)


@require_GET
def check(request: HttpRequest, film_id: UUID) -> HttpResponse:
    return check_page(request, coached_film(request, film_id))


@require_POST
def send(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = coached_film(request, film_id)
    chosen = set(request.POST.getlist("players"))
    pages = checking.check(film, request.user).ready
    players = [page.entry.player for page in pages if str(page.entry.player.pk) in chosen]
    try:
        services.send_film(actor=request.user, film=film, players=players)
    except DomainError as error:
        messages.error(request, str(error))
        return check_page(request, film, status=422)
    return redirect("feedback:sent", film.pk)


@require_GET
def sent(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """What the author's last sending of this film did, and what still waits."""
    film = coached_film(request, film_id)
    found = {
        "film": film,
        "receipts": checking.last_sending(film, request.user),
        "check": checking.check(film, request.user),
        "now": timezone.now(),
    }
    return render(request, "feedback/sent.html", found)
