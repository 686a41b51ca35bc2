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
from devplans.feedback.models import Clip, Comment, Voice
from devplans.feedback.voices import keeping
from devplans.feedback.voices.log import read_log
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
    """Write the row of the clip for the comment's version, and ring for it once it is committed.

    With the coach's voice it shows what was on screen meanwhile: something between `start_ms` and
    `end_ms` of the film, as often and as long as he had it there.
    """
    from devplans.feedback import tasks

    voice = keeping.voice_of(comment)
    if voice is None:
        first, last = clip_span(comment.start_ms, comment.end_ms, comment.film.duration_ms or 0)
    else:
        first, last = read_log(voice.log).film_span(0, voice.length_ms)
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


def extend(clip_id: UUID, token: UUID) -> None:
    """The work takes longer: keep the lease, if it is still ours."""
    mine = Clip.objects.filter(pk=clip_id, lease_token=token)
    mine.update(lease_until=timezone.now() + LEASE)


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
    clip = Clip.objects.select_related("comment__voice", *related).get(pk=clip_id)
    film = clip.comment.film
    drawing = drawing_svg(clip.comment)
    place_kept = f"clips/{clip.pk}/{token.hex}"
    made: dict[str, str] = {}
    facts: dict[str, Any] = {}
    try:
        with tempfile.TemporaryDirectory(prefix="clip-") as place:
            key, still_ms = pictures.original_at(film, clip.still_ms)
            source = on_disk(key or film.playable_key, Path(place))
            still = sandbox.still(source, still_ms if key else clip.still_ms, drawing=drawing)
        made["still_key"] = _keep(f"{place_kept}.jpg", ContentFile(still))
        with tempfile.TemporaryDirectory(prefix="clip-") as place:
            source = on_disk(film.playable_key or film.original_key, Path(place))
            out = Path(place) / "clip.mp4"
            facts = _cut_video(source, out, clip, token, drawing)
            with out.open("rb") as file:
                made["video_key"] = _keep(f"{place_kept}.mp4", File(file))
    except (MediaError, OSError) as error:
        return _failed(clip, token, error, made)
    if not release(clip_id, token, state=Clip.State.READY, **facts, **made):
        _forget(made)
        return False
    return True


def _cut_video(source: Path, out: Path, clip: Clip, token: UUID, drawing: str) -> dict[str, Any]:
    """Write the clip to `out`; what is to be noted of it. Where it cannot be made with the coach's
    voice it is cut without, and says why."""
    voice = keeping.voice_of(clip.comment)
    problem = ""
    if voice is not None:
        try:
            _play_back(source, out, clip.comment, voice)
        except (MediaError, OSError) as error:
            if not _is_final(clip, error):
                raise
            log.warning("clip %s is cut without its voice: %s", clip.pk, error)
            problem = str(getattr(error, "reason", error))[:300]
            extend(clip.pk, token)
        else:
            return {"voiced": True, "problem": ""}
    first, last = clip.start_ms, clip.end_ms
    if voice is not None:
        film = clip.comment.film
        first, last = clip_span(clip.comment.start_ms, clip.comment.end_ms, film.duration_ms or 0)
    sandbox.cut_clip(
        source, out, start_ms=first, end_ms=last, drawing=drawing, drawn_ms=clip.still_ms
    )
    return {"voiced": False, "problem": problem}


def _play_back(source: Path, out: Path, comment: Comment, voice: Voice) -> None:
    with tempfile.TemporaryDirectory(prefix="clip-") as place:
        sandbox.play_back(
            source,
            out,
            sound=on_disk(voice.sound_key, Path(place)),
            stretches=[
                (one.at_ms, round(one.film_ms), one.rate) for one in read_log(voice.log).stretches
            ],
            layers=keeping.layers(comment, voice),
            length_ms=voice.length_ms,
        )


def _is_final(clip: Clip, error: Exception) -> bool:
    return isinstance(error, NotAFilm) or clip.attempts >= MAX_ATTEMPTS


def _keep(key: str, content: File) -> str:
    return default_storage.save(key, content)


def _forget(made: dict[str, str]) -> None:
    for key in made.values():
        default_storage.delete(key)


def _failed(clip: Clip, token: UUID, error: Exception, made: dict[str, str]) -> bool:
    """The still, if there is one, is kept: it can be shown without the video."""
    log.warning("clip %s not cut (attempt %s): %s", clip.pk, clip.attempts, error)
    final = _is_final(clip, error)
    fields: dict[str, Any] = {"problem": str(getattr(error, "reason", error))[:300]}
    if final:
        fields |= {"state": Clip.State.FAILED, **made}
    if not release(clip.pk, token, **fields) or not final:
        _forget(made)
    return False
