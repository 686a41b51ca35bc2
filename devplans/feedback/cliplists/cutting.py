"""Cutting the spans of an open list into files: a row with a lease, as for a comment's clip."""

import logging
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from devplans.feedback.cliplists import reading
from devplans.feedback.cliplists.models import ClipList, ClipListItem, ListClip
from devplans.feedback.cutting import LEASE, MAX_ATTEMPTS, SWEEP_AT_ONCE
from devplans.film import sandbox
from devplans.film.faults import MediaError, NotAFilm
from devplans.film.models import Film
from devplans.film.storing import on_disk

log = logging.getLogger(__name__)
State = ListClip.State


def order(clip_list: ClipList) -> None:
    """Have every span of the list cut that is not, and forget the files of spans left behind and
    of older drawings."""
    from devplans.feedback import tasks

    items = clip_list.items.standing().filter(film__state=Film.State.READY)
    people = reading.everyone(clip_list.squad)
    wanted = {
        (item.pk, *reading.cut_facts(item, people))
        for item in items.in_order().select_related("comment__drawing")
    }
    there = {
        (clip.item_id, clip.start_ms, clip.end_ms, clip.drawn): clip
        for clip in ListClip.objects.filter(item__clip_list=clip_list)
    }
    _forget(clip for key, clip in there.items() if key not in wanted)
    for item_id, start_ms, end_ms, drawn in wanted - set(there):
        clip = ListClip.objects.create(
            item_id=item_id, start_ms=start_ms, end_ms=end_ms, drawn=drawn
        )
        tasks.cut_list_clip.delay_on_commit(str(clip.pk))


def order_redrawn() -> None:
    """Have cut again what is drawn otherwise by now: a comment was corrected or taken back, or the
    squad has a name more that no drawing may tell."""
    drawn = Q(items__comment__drawing__isnull=False) | Q(items__clips__drawn__gt="")
    lists = ClipList.objects.filter(drawn, open_to=Film.OpenTo.SQUAD)
    for key in set(lists.values_list("pk", flat=True)):
        with transaction.atomic():
            # As a change of the list does, so that only one of the two orders.
            held = ClipList.objects.filter(pk=key, open_to=Film.OpenTo.SQUAD)
            if held.update(revision=F("revision")):
                order(ClipList.objects.select_related("squad").get(pk=key))


def drop(clip_list: ClipList, items: Iterable[ClipListItem] | None = None) -> None:
    """Forget the files of a list, or of some of its clips."""
    clips = ListClip.objects.filter(item__clip_list=clip_list)
    _forget(clips if items is None else clips.filter(item__in=list(items)))


def _forget(clips: Iterable[ListClip]) -> None:
    rows = list(clips)
    keys = [clip.video_key for clip in rows if clip.video_key]
    ListClip.objects.filter(pk__in=[clip.pk for clip in rows]).delete()
    transaction.on_commit(lambda: _delete(keys), robust=True)


def _delete(keys: Iterable[str]) -> None:
    for key in keys:
        default_storage.delete(key)


def sweep() -> list[UUID]:
    """Keys of the files that wait to be cut, oldest first. Those of deleted films and of older
    drawings are forgotten."""
    with transaction.atomic():
        _forget(ListClip.objects.filter(Q(item__film=None) | Q(item__film__playable_key="")))
    order_redrawn()
    due = ListClip.objects.due().order_by("created_at")
    return list(due.values_list("pk", flat=True)[:SWEEP_AT_ONCE])


def cut(clip_id: UUID) -> bool:
    """Cut one span; True if this call did. Faults are treated as those of a comment's clip."""
    token = uuid4()
    lease = {"lease_until": timezone.now() + LEASE, "lease_token": token}
    mine = ListClip.objects.due().filter(pk=clip_id)
    if not mine.update(**lease, attempts=F("attempts") + 1):
        return False
    related = ("item__film", "item__comment__drawing", "item__clip_list__squad")
    clip = ListClip.objects.select_related(*related).get(pk=clip_id)
    try:
        key, length_ms = _cut_video(clip, token)
    except (MediaError, OSError) as error:
        log.warning("list clip %s not cut (attempt %s): %s", clip.pk, clip.attempts, error)
        final = isinstance(error, NotAFilm) or clip.attempts >= MAX_ATTEMPTS
        state = State.FAILED if final else State.WAITING
        problem = str(getattr(error, "reason", error))[:300]
        _release(clip_id, token, state=state, problem=problem)
        return False
    if key and _release(
        clip_id, token, state=State.READY, problem="", video_key=key, length_ms=length_ms
    ):
        return True
    _delete([key] if key else [])
    return False


def _release(clip_id: UUID, token: UUID, **fields: Any) -> bool:
    mine = ListClip.objects.filter(pk=clip_id, lease_token=token)
    return bool(mine.update(lease_until=None, lease_token=None, **fields))


def _cut_video(clip: ListClip, token: UUID) -> tuple[str, int]:
    """The key of the cut file and its length in ms; empty where the film is gone, and where it is
    drawn on otherwise by now: the next sweep orders that."""
    item, film = clip.item, clip.item.film
    people = reading.everyone(item.clip_list.squad)
    if film is None or not film.playable_key:
        return "", 0
    if reading.cut_facts(item, people) != (clip.start_ms, clip.end_ms, clip.drawn):
        return "", 0
    with tempfile.TemporaryDirectory(prefix="clip-") as folder:
        source, out = on_disk(film.playable_key, Path(folder)), Path(folder) / "clip.mp4"
        length_ms = sandbox.cut_clip(
            source,
            out,
            start_ms=clip.start_ms,
            end_ms=clip.end_ms,
            drawing=reading.drawing_on(item, people),
            drawn_ms=item.moment_ms or 0,
        )
        with out.open("rb") as file:
            return default_storage.save(f"lists/{clip.pk}/{token.hex}.mp4", File(file)), length_ms
