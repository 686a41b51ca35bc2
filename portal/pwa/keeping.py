"""What a player's phone fetches ahead, so that it is there in a gym without a connection."""

from typing import Any

from django.urls import reverse

from devplans.feedback import showing
from devplans.people.models import Player

MOST_CLIPS = 8


def for_phone(user: Any) -> dict[str, list[str]]:
    """Addresses of `pages` (with their parts) and of `clips`; nothing for who is no player."""
    player = _own_player(user)
    if player is None:
        return {"pages": [], "clips": []}
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
    clips = [one for one in deliveries if one.has_clip]
    pages += [reverse("feedback:captions", args=[one.pk]) for one in clips if one.has_voice]
    return {"pages": pages, "clips": [reverse("feedback:clip", args=[one.pk]) for one in clips]}


def _own_player(user: Any) -> Player | None:
    return user.players.order_by("created_at").first()
