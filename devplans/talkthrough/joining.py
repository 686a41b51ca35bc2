"""The pieces of a take as one sound file, as they came out of the browser's recorder."""

import logging
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import BinaryIO

from django.core.files.storage import default_storage
from django.db import transaction

from devplans.film.storing import kept, on_disk
from devplans.talkthrough.models import TalkPiece, TalkTake

log = logging.getLogger(__name__)
_ENDINGS = {"audio/webm": "webm", "audio/mp4": "mp4", "audio/ogg": "ogg"}


def sound_of(take: TalkTake, folder: Path) -> Path | None:
    """The take's sound as a file, which `folder` may hold; None where nothing came of it.

    Pieces are joined in order and kept as one file; those of a take that has ended are deleted
    then, of others more may come in between. A piece that is gone does not lose the rest.
    """
    loose = [piece for piece in take.pieces.order_by("number") if piece.key]
    if not loose:
        return on_disk(take.sound_key, folder) if take.sound_key else None
    joined = folder / f"take-{take.number}"
    with joined.open("wb") as target:
        if take.sound_key and take.pieces.filter(key="").exists():
            _append(take.sound_key, target)
        for piece in loose:
            _append(piece.key, target)
    if not joined.stat().st_size:
        return None
    _keep(take, joined, loose)
    return on_disk(take.sound_key, folder)


def _append(key: str, target: BinaryIO) -> None:
    try:
        with default_storage.open(key) as source:
            shutil.copyfileobj(source, target, 1024 * 1024)
    except OSError:
        log.exception("a piece of sound is gone: %s", key)


def _keep(take: TalkTake, joined: Path, loose: Iterable[TalkPiece]) -> None:
    before = take.sound_key
    ending = _ENDINGS.get(take.mime.split(";")[0].strip().lower(), "sound")
    key = kept(f"talk/{take.talk_id}/{take.number}/sound.{ending}", joined)
    old = {before} - {"", key}
    with transaction.atomic():
        take.sound_key = key
        take.save(update_fields=["sound_key", "updated_at"])
        if take.length_ms is not None:
            old |= {piece.key for piece in loose}
            TalkPiece.objects.filter(pk__in=[piece.pk for piece in loose]).update(key="")
    for gone in old:
        default_storage.delete(gone)
