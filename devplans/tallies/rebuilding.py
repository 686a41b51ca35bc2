"""Week rows of tallies made anew: each night, by the operator, and when the day of a film moves."""

import logging
from collections.abc import Collection
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.db.models.signals import post_save

from devplans.film.models import Film
from devplans.people.changes import zone_changed
from devplans.people.models import Club
from devplans.schedule.models import Event
from devplans.tallies.evidence import write_weeks
from devplans.tallies.models import Tally

logger = logging.getLogger(__name__)

# So many tallies are held at a time, and their marks read.
CHUNK = 20
# What the day of a film is told from.
FILM_DAY, EVENT_DAY = {"event", "recorded_at"}, {"starts_at"}


def rebuild() -> int:
    """Compare the rows of all clubs with what was marked, put right what differs; how many did."""
    differed = 0
    for club in Club.objects.order_by("pk"):
        found = rebuild_club(club.pk)
        differed += found
        if found:
            logger.warning("Tally rows of %s: %s differed, put right.", club, found)
    logger.info("Tally rows compared, %s differed.", differed)
    return differed


def rebuild_club(club_id: UUID) -> int:
    """So many tallies at a time, each time in a transaction of its own; how many rows differed."""
    return _rebuild(Q(film__squad__season__club=club_id))


def watch() -> None:
    zone_changed.connect(_zone_changed, dispatch_uid="tallies.zone_changed")
    post_save.connect(_film_saved, sender=Film, dispatch_uid="tallies.film_saved")
    post_save.connect(_event_saved, sender=Event, dispatch_uid="tallies.event_saved")


def _rebuild(which: Q) -> int:
    # An open one may have rows that a fault has left.
    counted = Q(closed_at__isnull=False) | Q(weeks__isnull=False)
    rows = Tally.objects.filter(which & counted).order_by("pk").distinct()
    keys = list(rows.values_list("pk", flat=True))
    differed = 0
    for first in range(0, len(keys), CHUNK):
        with transaction.atomic():
            differed += write_weeks(*_held(keys[first : first + CHUNK]))
    return differed


def _held(keys: Collection[UUID]) -> list[Tally]:
    rows = Tally.objects.select_for_update(of=("self",)).with_film()
    return list(rows.filter(pk__in=keys).order_by("pk"))


def _zone_changed(club: Club, **_rest: Any) -> None:
    rebuild_club(club.pk)


def _film_saved(instance: Film, **how: Any) -> None:
    if _may_move(how, FILM_DAY):
        _rebuild(Q(film=instance.pk))


def _event_saved(instance: Event, **how: Any) -> None:
    if _may_move(how, EVENT_DAY):
        _rebuild(Q(film__event=instance.pk))


def _may_move(how: dict[str, Any], fields: set[str]) -> bool:
    """Whether that saving can have moved a day. A new row has no tallies."""
    saved = how["update_fields"]
    return (
        not how["created"] and not how.get("raw") and (saved is None or bool(fields & set(saved)))
    )
