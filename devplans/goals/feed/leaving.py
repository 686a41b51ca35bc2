"""A player who leaves the club takes no calendar of its dates along."""

from typing import Any

from django.utils import timezone

from devplans.goals.models import FeedToken
from devplans.people.changes import player_left
from devplans.people.models import Player


def watch() -> None:
    """End the addresses of a leaver's work and dates, his own and his guardians'."""
    player_left.connect(end_feeds, sender=Player, dispatch_uid="goals.end_feeds")


def end_feeds(player: Player, **_signal: Any) -> None:
    running = FeedToken.objects.filter(player=player, ended_at=None)
    running.update(ended_at=timezone.now())
