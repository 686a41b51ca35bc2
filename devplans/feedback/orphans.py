"""Files that a process kept and was killed before noting: voices and clips without a row."""

from datetime import datetime
from functools import partial

from django.db import models
from django.utils import timezone

from devplans.feedback.models import Clip, ListClip, Voice
from devplans.film.storing import remove_unnamed

Columns = list[tuple[type[models.Model], str]]
PLACES: dict[str, Columns] = {
    "voices": [(Voice, "sound_key")],
    "clips": [(Clip, "video_key"), (Clip, "still_key")],
    "lists": [(ListClip, "video_key")],
}


def sweep_files(*, now: datetime | None = None) -> int:
    """Delete sound and clips older than a day that no row names; how many files."""
    now = now or timezone.now()
    return sum(
        remove_unnamed(place, partial(_named, columns), now=now)
        for place, columns in PLACES.items()
    )


def _named(columns: Columns, keys: list[str]) -> set[str]:
    found: set[str] = set()
    for model, field in columns:
        rows = model._default_manager.filter(**{f"{field}__in": keys})
        found.update(rows.values_list(field, flat=True))
    return found
