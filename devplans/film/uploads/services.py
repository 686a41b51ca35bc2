"""Files on their way: begun, received piece by piece, complete, stopped, forgotten.

A film's row is there from the beginning, so that it can be commented on at once; it waits to be
prepared when the last of its files is whole.
"""

import logging
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import Conflict, DomainError
from devplans.core.ids import uuid7
from devplans.film import adding, faults
from devplans.film.facts import SNIFF_BYTES, sniff
from devplans.film.models import Film, FilmFile, Upload
from devplans.film.uploads import limits
from devplans.film.uploads.parts import BadChecksum, Held, NoRoom, PartGone
from devplans.film.uploads.store import parts
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule.models import Event

log = logging.getLogger(__name__)
State = Film.State


def begin_upload(
    *,
    actor: Any,
    squad: Squad,
    title: str,
    filename: str,
    length: int,
    event: Event | None = None,
    files: int = 1,
    fingerprint: str = "",
) -> Upload:
    """Begin the first file, of `length` bytes, of a new film; the film has the upload's key.

    files: how many make the film; the others are begun with `begin_next`.
    Raises PermissionDenied, and DomainError "title.empty", "title.long", "event.squad",
    "files.many" or one of `limits.require_fits`.
    """
    access.require(actor, Action.COACH_SQUAD, squad)
    title = adding.checked_title(title)
    adding.require_event_of(squad, event)
    if not 1 <= files <= limits.MOST_FILES:
        message = _("A film can be made of %(count)s files at most.") % {"count": limits.MOST_FILES}
        raise DomainError("files.many", message, field="files")
    limits.require_fits(actor=actor, club=squad.season.club, length=length, store=parts())

    def rows(key: UUID) -> FilmFile:
        film = Film.objects.create(
            id=key,
            squad=squad,
            event=event,
            title=title,
            recorded_at=event.starts_at if event else None,
            uploaded_by=actor,
            state=State.UPLOADING,
        )
        audit.record(actor, "film.begun", film, club_id=squad.season.club_id)
        made = [FilmFile.objects.create(film=film, position=place) for place in range(files)]
        return made[0]

    return _begun(actor, rows, filename=filename, length=length, fingerprint=fingerprint)


def begin_next(
    *, actor: Any, film: Film, position: int, filename: str, length: int, fingerprint: str = ""
) -> Upload:
    """Begin a further file of a film that is on its way, at its `position` from 0.

    Raises PermissionDenied, and DomainError "files.position" where no file is waited for there, or
    one of `limits.require_fits`.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    limits.require_fits(actor=actor, club=film.squad.season.club, length=length, store=parts())

    def rows(_key: UUID) -> FilmFile:
        locked = Film.objects.select_for_update().get(pk=film.pk)
        waited_for = FilmFile.objects.filter(film=locked, position=position, upload=None, key="")
        file = waited_for.first() if locked.is_uploading else None
        if file is None:
            message = _("This film waits for no file at that place.")
            raise DomainError("files.position", message, field="position")
        return file

    return _begun(actor, rows, filename=filename, length=length, fingerprint=fingerprint)


def _begun(
    actor: Any,
    rows: Callable[[UUID], FilmFile],
    *,
    filename: str,
    length: int,
    fingerprint: str,
) -> Upload:
    store, key = parts(), uuid7()
    handle = store.create(str(key), length)
    try:
        with transaction.atomic():
            file = rows(key)
            file.filename = " ".join(filename.split())[-200:]
            file.size_bytes = length
            file.save(update_fields=["filename", "size_bytes", "updated_at"])
            _count_bytes(file.film)
            return Upload.objects.create(
                id=key,
                file=file,
                user=actor,
                length=length,
                handle=handle,
                fingerprint=fingerprint[:200],
                expires_at=_expiry(),
            )
    except BaseException:
        store.abort(handle)
        raise


def _expiry() -> datetime:
    return timezone.now() + timedelta(days=settings.UPLOAD_DAYS)


def _count_bytes(film: Film) -> None:
    film.size_bytes = sum(film.files.values_list("size_bytes", flat=True))
    film.save(update_fields=["size_bytes", "updated_at"])


def offset_of(*, actor: Any, upload: Upload) -> int:
    """Bytes that have safely arrived: where the sender goes on.

    A file that was whole when the portal was stopped is completed now. Raises PermissionDenied,
    and DomainError "upload.gone".
    """
    access.require(actor, Action.COACH_SQUAD, upload.file.film.squad)
    if upload.complete_at is not None:
        return upload.length
    try:
        size = parts().size(upload.handle)
    except PartGone:
        size = upload.length
    if size == upload.length:
        _complete(actor, upload)
    return size


def peek(*, actor: Any, upload: Upload) -> int:
    """Bytes that have arrived, for a list: nothing is completed. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, upload.file.film.squad)
    return limits.size_or_nothing(parts(), upload.handle)


def on_its_way(*, actor: Any, film: Film) -> dict[str, Any]:
    """What a film's page says while it is sent: `share_there`, 0..1, `sender`, whether it is
    the actor (`is_mine`), and its `originals`, by which the same files are known again."""
    access.require(actor, Action.COACH_SQUAD, film.squad)
    uploads = Upload.objects.filter(file__film=film).select_related("user", "file")
    originals, arrived, store = [], 0, parts()
    for upload in uploads.order_by("file__position"):
        is_there = upload.complete_at is not None
        arrived += upload.length if is_there else limits.size_or_nothing(store, upload.handle)
        originals.append(
            {
                "id": str(upload.pk),
                "filename": upload.file.filename,
                "length": upload.length,
                "fingerprint": upload.fingerprint,
                "complete": is_there,
            }
        )
    sender = uploads[0].user if originals else film.uploaded_by
    return {
        "originals": originals,
        "share_there": arrived / film.size_bytes if film.size_bytes else 0,
        "sender": sender,
        "is_mine": sender == actor,
    }


def receive(
    *,
    actor: Any,
    upload: Upload,
    offset: int,
    announced: int,
    pieces: Iterable[bytes],
    intact: Callable[[], bool] | None = None,
) -> int:
    """Append `pieces`, `announced` bytes, at `offset`; how much is there then.

    intact: asked at the end; where it says no, nothing of this call is kept.
    Pieces that end early are kept. The last byte completes the file. Raises PermissionDenied, and
    DomainError "upload.offset", "upload.past_end", "upload.busy", "upload.checksum", "upload.gone",
    "file.room", or "file.type" where it is no film: then nothing is kept of it.
    """
    access.require(actor, Action.COACH_SQUAD, upload.file.film.squad)
    store = parts()
    with _told(upload), store.hold(upload.handle):
        there = store.size(upload.handle)
        _require_place(there, offset=offset, announced=announced, length=upload.length)
        if there < SNIFF_BYTES:
            pieces = limits.looked_at(pieces, store.head(upload.handle, SNIFF_BYTES))
        try:
            size = store.append(upload.handle, pieces, intact=intact)
        finally:
            Upload.objects.filter(pk=upload.pk).update(expires_at=_expiry())
        if size == upload.length:
            _complete(actor, upload)
        return size


@contextmanager
def _told(upload: Upload) -> Iterator[None]:
    """What the store says, in words for the sender."""
    try:
        yield
    except limits.NoFilm:
        raise _refused(upload) from None
    except Held as error:
        message = _("Another part of this file is arriving right now.")
        raise DomainError("upload.busy", message) from error
    except BadChecksum as error:
        message = _("This part arrived damaged. Send it again.")
        raise DomainError("upload.checksum", message) from error
    except NoRoom as error:
        raise DomainError("file.room", _(faults.NO_ROOM), field="file") from error
    except PartGone as error:
        # Whole, it lies elsewhere.
        if Upload.objects.filter(pk=upload.pk, complete_at__isnull=False).exists():
            raise _misplaced(upload.length) from error
        raise _gone() from error


def _require_place(there: int, *, offset: int, announced: int, length: int) -> None:
    if offset != there:
        raise _misplaced(there)
    if offset + announced > length:
        message = _("This is more than the file was announced to have.")
        raise DomainError("upload.past_end", message)


def _misplaced(there: int) -> DomainError:
    message = _("%(count)s bytes are there: go on behind them.") % {"count": there}
    return DomainError("upload.offset", message)


def _gone() -> DomainError:
    return DomainError("upload.gone", _("This upload is not there any more. Begin it again."))


def _refused(upload: Upload) -> DomainError:
    """What is no film is forgotten, and its film with it where it was the only file."""
    _forget(upload)
    return DomainError("file.type", _(faults.WRONG_TYPE), field="file")


def _key_of(upload: Upload) -> str:
    """Where the whole file will lie: known before, so that a stopped portal finds it again."""
    film_id = upload.file.film_id
    name = "original" if upload.pk == film_id else f"original-{upload.pk}"
    return f"films/{film_id}/{name}"


def _complete(actor: Any, upload: Upload) -> None:
    """The file is whole: look at its right once more, keep it, and let the film go on."""
    access.require(actor, Action.COACH_SQUAD, upload.file.film.squad)
    store, key = parts(), _key_of(upload)
    try:
        if sniff(store.head(upload.handle, SNIFF_BYTES)) is None:
            raise _refused(upload)
    except PartGone:
        log.info("upload %s: the part was kept already", upload.pk)
    try:
        store.finish(upload.handle, key, upload.length)
    except PartGone as error:
        raise _gone() from error
    with transaction.atomic():
        film = Film.objects.select_for_update().filter(pk=upload.file.film_id).first()
        done = Upload.objects.open().filter(pk=upload.pk).update(complete_at=timezone.now())
        if film is not None and done:
            FilmFile.objects.filter(pk=upload.file_id).update(key=key)
            _arrive_if_whole(actor, film)
    if film is None:
        default_storage.delete(key)
        raise _gone()
    upload.refresh_from_db()


def _arrive_if_whole(actor: Any, film: Film) -> None:
    """Where no file is missing any more, the film waits to be prepared."""
    files = list(film.files.all())
    if not film.is_uploading or not files or not all(file.key for file in files):
        return
    film.state = State.WAITING
    film.original_key = files[0].key
    film.size_bytes = sum(file.size_bytes for file in files)
    film.save(update_fields=["state", "original_key", "size_bytes", "updated_at"])
    audit.record(actor, "film.added", film, club_id=film.squad.season.club_id)
    adding.queue(film)


def stop_upload(*, actor: Any, upload: Upload) -> None:
    """Throw away a file that is not wanted, and its film with the drafts on it if it was the only.

    Raises PermissionDenied, and Conflict "upload.complete" where the film is there already.
    """
    access.require(actor, Action.COACH_SQUAD, upload.file.film.squad)
    if not upload.file.film.is_uploading:
        message = _("This film has arrived. Delete it on its own page.")
        raise Conflict("upload.complete", message)
    _forget(upload, actor=actor)


def _forget(upload: Upload, *, actor: Any = None) -> None:
    film_id, key = upload.file.film_id, upload.file.key
    with transaction.atomic():
        film = Film.objects.select_for_update().filter(pk=film_id).first()
        FilmFile.objects.filter(pk=upload.file_id).delete()
        if film is not None and film.is_uploading:
            _close_gap(film, actor or upload.user)
    parts().abort(upload.handle)
    if key:
        default_storage.delete(key)


def _close_gap(film: Film, actor: Any) -> None:
    """A file less: the others move up, and where there are none the film goes too."""
    left = list(film.files.all())
    if not left:
        audit.record(actor, "film.deleted", film, club_id=film.squad.season.club_id)
        film.delete()
        return
    for place, file in enumerate(left):
        if file.position != place:
            file.position = place
            file.save(update_fields=["position", "updated_at"])
    _count_bytes(film)
    _arrive_if_whole(actor, film)
