"""All week rows made anew: each night, by the operator, and when a club's time zone changes."""

import logging
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from devplans.people.changes import zone_changed
from devplans.people.models import Club, Player
from devplans.workouts.weeks.writing import rewrite_all

logger = logging.getLogger(__name__)

# So many players are held at a time, and their workouts read.
CHUNK = 50


@dataclass(frozen=True)
class Rebuilt:
    """How many players were looked at, and how many of their rows differed and were put right."""

    players: int = 0
    differed: int = 0


def rebuild() -> Rebuilt:
    """Compare the rows of all clubs with what was logged and put right what differs."""
    players = differed = 0
    for club in Club.objects.order_by("pk"):
        found = rebuild_club(club.pk)
        players, differed = players + found.players, differed + found.differed
        if found.differed:
            logger.warning("Week rows of %s: %s differed, put right.", club, found.differed)
    logger.info("Week rows of %s players compared, %s differed.", players, differed)
    return Rebuilt(players, differed)


def rebuild_club(club_id: UUID) -> Rebuilt:
    """The rows of one club, so many players at a time, each time in a transaction of its own."""
    keys = list(Player.objects.filter(club=club_id).order_by("pk").values_list("pk", flat=True))
    differed = 0
    for first in range(0, len(keys), CHUNK):
        with transaction.atomic():
            differed += rewrite_all(club_id, keys[first : first + CHUNK])
    return Rebuilt(len(keys), differed)


def watch() -> None:
    zone_changed.connect(_zone_changed, dispatch_uid="workouts.zone_changed")


def _zone_changed(club: Club, **_rest: Any) -> None:
    rebuild_club(club.pk)
