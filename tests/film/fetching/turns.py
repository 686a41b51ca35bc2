"""Asking for a film, and giving its worker one turn after the other."""

from datetime import timedelta
from pathlib import Path

from django.utils import timezone

from devplans.film import services
from devplans.film.fetching.rows import Fetch
from devplans.film.models import Film

MIB = 1024 * 1024
FILM = b"\0\0\0\x18ftypisom" + bytes(range(256)) * 4096 * 5
URL = "https://films.example/game.mp4?key=secret"


def asked(cast, url=URL, **more):
    return services.fetch_film(
        actor=cast.coach, squad=cast.squad, title="Second half", address=url, **more
    )


def run(added):
    """Let its worker have one turn; the film as it is then."""
    services.run_fetch(fetch_id=added.fetch.pk)
    return Film.objects.get(pk=added.pk)


def is_due_again(added):
    Fetch.objects.filter(film=added).update(lease_until=timezone.now() - timedelta(seconds=1))


def left_over(settings):
    folders = [Path(settings.FILE_UPLOAD_TEMP_DIR) / "parts", Path(settings.MEDIA_ROOT)]
    return [p for folder in folders for p in folder.rglob("*") if p.suffix != ".lock"]


def failed(cast, settings, url=URL):
    """The sentence with which a fetch ended that kept nothing."""
    added = run(asked(cast, url))
    assert (added.state, added.original_key, added.size_bytes) == ("failed", "", 0)
    assert left_over(settings) == []
    assert Fetch.objects.get().ended_at
    return added.problem
