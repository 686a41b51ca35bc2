"""What a phone fetches ahead, so that it is there in a gym without a connection."""

from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from devplans.feedback import reading, showing
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.workouts import log_page

MOST_CLIPS = 8
MOST_SQUADS = 3


def for_phone(user: Any) -> dict[str, list[Any]]:
    """Addresses of `pages` (with their parts) and `clips` {path, version}: a player's own, the
    group pages of a coach, nothing for anybody else."""
    player = _own_player(user)
    if player is None:
        return {"pages": _group_pages(user), "clips": []}
    deliveries = [one for one in showing.for_today(user) if not one.withdrawn_at][:MOST_CLIPS]
    today = reverse("home:today")
    pages = [
        today,
        reverse("goals:work", args=[player.pk]),
        reverse("workouts:log", args=[player.pk]),
        reverse("goals:plan-drills", args=[player.pk]),
        *(f"{today}?clip={one.pk}" for one in deliveries),
    ]
    stills = [one for one in deliveries if one.is_shown and one.still_key]
    pages += [reverse("feedback:delivery-still", args=[one.pk]) for one in stills]
    shown = [one for one in deliveries if one.has_clip]
    pages += [reverse("feedback:captions", args=[one.pk]) for one in shown if one.has_voice]
    versions = reading.current_clips([one.comment for one in shown])
    clips = []
    for one in shown:
        clip = versions[one.comment_id]
        path = reverse("feedback:clip", args=[one.pk])
        clips.append({"path": path, "version": f"{clip.pk}-{clip.version}"})
    return {"pages": pages, "clips": clips}


def _group_pages(user: Any) -> list[str]:
    """Who is at the basket is chosen in the hall: the page of all serves for any."""
    pages = []
    squads = Squad.objects.allowing(user, Action.COACH_SQUAD).order_by("-season__starts_on", "name")
    for squad in squads[:MOST_SQUADS]:
        path = reverse("workouts:group", args=[squad.pk])
        here = log_page.places(user, squad, ())[: log_page.MOST_KEPT]
        asked = urlencode([("player", place.player.pk) for place in here])
        pages += [path, f"{path}?{asked}"] if here else [path]
    return pages


def _own_player(user: Any) -> Player | None:
    return user.players.order_by("created_at").first()
