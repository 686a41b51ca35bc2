"""The demo club's film: drawn once, prepared once, and copied to every game that shows it."""

import tempfile
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.files.storage import default_storage

from devplans.feedback import cutting
from devplans.feedback.models import Clip
from devplans.film import services as films
from devplans.film.models import Film
from portal.demo.film import render_demo_film

FILM_KEYS = ["original_key", "playable_key", "poster_key", "frames_key"]
FILM_FACTS = ["state", "progress", "duration_ms", "width", "height", "size_bytes", "ready_at"]
CLIP_KEYS = ["video_key", "still_key"]


def finish(club_id: Any) -> None:
    """Make what is missing of the films and clips of the demo club; nothing where all is there."""
    waiting = list(Film.objects.filter(squad__season__club=club_id).exclude(state=Film.State.READY))
    if waiting:
        ready = Film.objects.filter(squad__season__club=club_id, state=Film.State.READY).first()
        first = ready or _draw(waiting.pop())
        for film in waiting:
            _copy_files(first, film, FILM_KEYS, "films")
            for name in FILM_FACTS:
                setattr(film, name, getattr(first, name))
            film.save(update_fields=[*FILM_KEYS, *FILM_FACTS, "updated_at"])
    _cut(Clip.objects.filter(comment__film__squad__season__club=club_id))


def _draw(film: Film) -> Film:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "game.mp4"
        render_demo_film(path)
        with path.open("rb") as file:
            film.original_key = default_storage.save(f"films/{film.pk}/original", File(file))
        film.size_bytes = path.stat().st_size
    film.save(update_fields=["original_key", "size_bytes", "updated_at"])
    films.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    return film


def _copy_files(source: Any, target: Any, names: list[str], folder: str) -> None:
    for name in names:
        key = getattr(source, name)
        if key:
            with default_storage.open(key) as file:
                setattr(
                    target,
                    name,
                    default_storage.save(f"{folder}/{target.pk}/{Path(key).name}", file),
                )


def _cut(clips: Any) -> None:
    """Cut one clip of each moment; games share the drawing, so the others get copies."""
    done: dict[tuple[int, int], Clip] = {
        (clip.start_ms, clip.end_ms): clip for clip in clips.filter(state=Clip.State.READY)
    }
    for clip in clips.exclude(state=Clip.State.READY).order_by("-created_at"):
        span = (clip.start_ms, clip.end_ms)
        if span not in done:
            cutting.cut_clip(clip.pk)
            clip.refresh_from_db()
            done[span] = clip
            continue
        _copy_files(done[span], clip, CLIP_KEYS, "clips")
        clip.state = done[span].state
        clip.save(update_fields=[*CLIP_KEYS, "state", "updated_at"])
