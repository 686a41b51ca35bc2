"""The page on which a person gets the address for his calendar, and the feed behind it."""

import hashlib
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST, require_safe

from devplans.goals import services
from devplans.goals.feed.content import feed as feed_of
from devplans.goals.feed.opening import open_feed
from devplans.goals.models import FeedToken
from devplans.goals.views.finding import player_of
from devplans.people.access import Action
from devplans.people.models import Player, Squad


@require_GET
def calendar(request: HttpRequest) -> HttpResponse:
    """Each calendar that the reader may have, and whether its address is in use."""
    return _page(request)


@require_POST
def feed_of_player(request: HttpRequest, player_id: UUID) -> HttpResponse:
    return _take_step(request, player_of(request, player_id))


@require_POST
def feed_of_squad(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    return _take_step(request, get_object_or_404(squads, pk=squad_id))


def _take_step(request: HttpRequest, subject: Player | Squad) -> HttpResponse:
    """`step=end` ends the address; anything else makes a new one, which this answer shows once."""
    if request.POST.get("step") == "end":
        services.end_feed(actor=request.user, subject=subject)
        messages.success(
            request, _("The address has ended. Take it out of the calendar that has it.")
        )
        return redirect("goals:calendar")
    if _is_childs_phone(request):
        # The address would outlive the phone, which the family can end.
        raise PermissionDenied("no address from a phone that a code signed in")
    secret = services.issue_feed(actor=request.user, subject=subject)
    return _page(request, fresh=subject, address=_address(secret))


def _is_childs_phone(request: HttpRequest) -> bool:
    return getattr(request, "phone", None) is not None


def _address(secret: str) -> str:
    return settings.PUBLIC_URL + reverse("goals:feed", args=[secret])


def _page(request: HttpRequest, *, fresh: Any = None, address: str = "") -> HttpResponse:
    tokens = FeedToken.objects.of_user(request.user)
    by_subject = {token.player_id or token.squad_id: token for token in tokens}
    players = Player.objects.allowing(request.user, Action.FOLLOW_PLAYER).order_by("first_name")
    squads = Squad.objects.allowing(request.user, Action.COACH_SQUAD).select_related("season__club")
    page = {
        "players": [
            {
                "subject": player,
                "is_own": player.user_id == request.user.pk,
                "token": by_subject.get(player.pk),
                "is_fresh": player == fresh,
                "url": reverse("goals:feed-player", args=[player.pk]),
            }
            for player in players
        ],
        "squads": [
            {
                "subject": squad,
                "token": by_subject.get(squad.pk),
                "is_fresh": squad == fresh,
                "url": reverse("goals:feed-squad", args=[squad.pk]),
            }
            for squad in squads
        ],
        "address": address,
        "app_address": "webcal://" + urlsplit(address).netloc + urlsplit(address).path,
        "may_make": not _is_childs_phone(request),
        "is_only": len(players) + len(squads) == 1,
        "is_safe": settings.PUBLIC_URL.startswith("https:"),
    }
    return render(request, "goals/calendar.html", page)


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponseBase:
    """The calendar behind a secret address; unknown, ended or no longer allowed: nothing there."""
    found = open_feed(token)
    if found is None:
        raise Http404
    body = feed_of(found)
    answer = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="dates.ics"'
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Robots-Tag"] = "noindex"
    answer["ETag"] = etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    return get_conditional_response(request, etag=etag, response=answer) or answer
