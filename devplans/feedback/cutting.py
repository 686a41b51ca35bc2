"""Which part of a film a comment's clip shows, and the cutting itself: a row with a lease."""

import logging
import tempfile
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models import F, Q
from django.utils import timezone

from devplans.feedback.drawing import drawing_svg
from devplans.feedback.models import Clip, Comment
from devplans.film import pictures, sandbox
from devplans.film.faults import MediaError, NotAFilm
from devplans.film.storing import on_disk

log = logging.getLogger(__name__)
LEAD_MS = 1_000
AROUND_MS = 3_000
LONGEST_MS = 30_000
LEASE = timedelta(minutes=6)
MAX_ATTEMPTS = 4
SWEEP_AT_ONCE = 50


def clip_span(start_ms: int, end_ms: int | None, duration_ms: int) -> tuple[int, int]:
    """The part of the film that a clip shows: a second before and after a span, three seconds each
    way round a moment, at most 30 seconds, within the film."""
    if end_ms is None:
        first, last = start_ms - AROUND_MS, start_ms + AROUND_MS
    else:
        first, last = start_ms - LEAD_MS, end_ms + LEAD_MS
    first = max(0, first)
    last = min(duration_ms, last, first + LONGEST_MS)
    return (max(0, min(first, last - LEAD_MS)), last)


def order_clip(comment: Comment) -> Clip:
    """Write the row of the clip for the comment's version, and ring for it once it is committed."""
    from devplans.feedback import tasks

    first, last = clip_span(comment.start_ms, comment.end_ms, comment.film.duration_ms or 0)
    clip, made = Clip.objects.get_or_create(
        comment=comment,
        version=comment.version,
        defaults={"start_ms": first, "end_ms": last},
    )
    if made:
        tasks.cut_clip.delay_on_commit(str(clip.pk))
    return clip


def due() -> Any:
    """Clips that may be claimed: waiting ones, save those that somebody is cutting."""
    free = Q(lease_until=None) | Q(lease_until__lt=timezone.now())
    return Clip.objects.filter(free, state=Clip.State.WAITING)


def due_ids() -> list[UUID]:
    return list(due().order_by("created_at").values_list("pk", flat=True)[:SWEEP_AT_ONCE])


def claim(clip_id: UUID) -> UUID | None:
    """Take the lease of one clip; its token, or None where there is nothing to cut."""
    token = uuid4()
    lease = {"lease_until": timezone.now() + LEASE, "lease_token": token}
    return token if due().filter(pk=clip_id).update(**lease, attempts=F("attempts") + 1) else None


def release(clip_id: UUID, token: UUID, **fields: Any) -> bool:
    """Write the outcome, if the lease is still ours."""
    mine = Clip.objects.filter(pk=clip_id, lease_token=token)
    return bool(mine.update(lease_until=None, lease_token=None, **fields))


def cut_clip(clip_id: UUID) -> bool:
    """Cut one clip and its still; True if this call did. A film that cannot be read fails for good,
    any other fault is tried again up to MAX_ATTEMPTS times."""
    token = claim(clip_id)
    if token is None:
        return False
    related = ("comment__drawing", "comment__film__event", "comment__film__squad__season__club")
    clip = Clip.objects.select_related(*related).get(pk=clip_id)
    film = clip.comment.film
    drawing = drawing_svg(clip.comment)
    folder = f"clips/{clip.pk}"
    made: dict[str, str] = {}
    try:
        with tempfile.TemporaryDirectory(prefix="clip-") as place:
            key, still_ms = pictures.original_at(film, clip.still_ms)
            source = on_disk(key or film.playable_key, Path(place))
            still = sandbox.still(source, still_ms if key else clip.still_ms, drawing=drawing)
        made["still_key"] = _keep(f"{folder}/{token.hex}.jpg", ContentFile(still))
        with tempfile.TemporaryDirectory(prefix="clip-") as place:
            source = on_disk(film.playable_key or film.original_key, Path(place))
            made["video_key"] = _cut_video(source, clip, drawing, f"{folder}/{token.hex}.mp4")
    except (MediaError, OSError) as error:
        return _failed(clip, token, error, made)
    if not release(clip_id, token, state=Clip.State.READY, problem="", **made):
        _forget(made)
        return False
    return True


def _cut_video(source: Path, clip: Clip, drawing: str, key: str) -> str:
    with tempfile.TemporaryDirectory(prefix="clip-") as folder:
        out = Path(folder) / "clip.mp4"
        sandbox.cut_clip(
            source,
            out,
            start_ms=clip.start_ms,
            end_ms=clip.end_ms,
            drawing=drawing,
            drawn_ms=clip.still_ms,
        )
        with out.open("rb") as file:
            return _keep(key, File(file))


def _keep(key: str, content: File) -> str:
    return default_storage.save(key, content)


def _forget(made: dict[str, str]) -> None:
    for key in made.values():
        default_storage.delete(key)


def _failed(clip: Clip, token: UUID, error: Exception, made: dict[str, str]) -> bool:
    """The still, if there is one, is kept: it can be shown without the video."""
    log.warning("clip %s not cut (attempt %s): %s", clip.pk, clip.attempts, error)
    final = isinstance(error, NotAFilm) or clip.attempts >= MAX_ATTEMPTS
    fields: dict[str, Any] = {"problem": str(getattr(error, "reason", error))[:300]}
    if final:
        fields |= {"state": Clip.State.FAILED, **made}
    if not release(clip.pk, token, **fields) or not final:
        _forget(made)
    return False
