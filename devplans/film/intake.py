"""What is looked at before a film is kept: its size, the room on the disk, its first bytes."""

import re
import shutil
from collections.abc import Callable, Container
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.film import faults
from devplans.film.facts import SNIFF_BYTES, sniff

FILM_ROUTES = {"film:upload", "film-list"}
OTHER_MAX_BYTES = 10 * 1024 * 1024
RESERVE_BYTES = 1024**3
ORPHAN_AFTER = timedelta(days=1)
UUID_NAME = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def in_words(size_bytes: int) -> str:
    """A file size as people say it: "8 GB", "350 MB"."""
    if size_bytes >= 1024**3:
        return _("%(count)g GB") % {"count": round(size_bytes / 1024**3, 1)}
    return _("%(count)g MB") % {"count": max(1, round(size_bytes / 1024**2))}


def folder_for_work() -> Path:
    """Where files lie that are not kept yet."""
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def has_room(size_bytes: int) -> bool:
    """Is there room for `size_bytes` more, with a reserve left for everything else?"""
    return shutil.disk_usage(folder_for_work()).free >= size_bytes + RESERVE_BYTES


def orphans(now: datetime, known: Callable[[list[UUID]], Container[UUID]]) -> list[UUID]:
    """Films whose files are kept and whose rows are not; none of the last day's.

    known: of these keys, those that have a row.
    """
    try:
        folders, _files = default_storage.listdir("films")
    except FileNotFoundError:
        return []
    keys = [UUID(name) for name in folders if UUID_NAME.fullmatch(name)]
    rows = known(keys)
    return [key for key in keys if key not in rows and _is_old(f"films/{key}", now)]


def _is_old(place: str, now: datetime) -> bool:
    folders, names = default_storage.listdir(place)
    for name in names:
        if default_storage.get_modified_time(f"{place}/{name}") > now - ORPHAN_AFTER:
            return False
    return all(_is_old(f"{place}/{name}", now) for name in folders)


def too_big() -> DomainError:
    message = _(
        "This film is too big: the portal takes %(size)s at most. Cut it into halves, "
        "or export it with a smaller picture."
    )
    return DomainError(
        "file.size", message % {"size": in_words(settings.FILM_MAX_BYTES)}, field="file"
    )


def no_room() -> DomainError:
    return DomainError("file.room", _(faults.NO_ROOM), field="file")


def require_film(file: Any) -> None:
    """Raise DomainError, with the reason in words, for what can be seen at once to be no film.

    file: an open uploaded file with `size`; it is left at its beginning.
    """
    if not file.size:
        raise DomainError("file.empty", _(faults.EMPTY), field="file")
    if file.size > settings.FILM_MAX_BYTES:
        raise too_big()
    file.seek(0)
    head = file.read(SNIFF_BYTES)
    file.seek(0)
    if sniff(head) is None:
        raise DomainError("file.type", _(faults.WRONG_TYPE), field="file")
    # The playable copy needs room as well, and is seldom bigger than what it is made of.
    if not has_room(file.size):
        raise no_room()


class BoundedUpload(TemporaryFileUploadHandler):
    """Spools an upload to disk, and stops writing where it is bigger than its page takes.

    Django reads the body before any view runs, for its CSRF check: so the bound has to be here.
    `request.upload_refused` then holds the DomainError that the view shows.
    """

    def most_bytes(self) -> int:
        match = self.request.resolver_match
        user = getattr(self.request, "user", None)
        is_known = user is not None and user.is_authenticated
        if match and match.view_name in FILM_ROUTES and is_known:
            return settings.FILM_MAX_BYTES
        return OTHER_MAX_BYTES

    def handle_raw_input(
        self,
        input_data: Any,
        META: dict[str, Any],
        content_length: int,
        boundary: bytes,
        encoding: str | None = None,
    ) -> None:
        self.written = 0
        self.lacks_room = not has_room(content_length)

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        if self.lacks_room:
            self.refuse(no_room())

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        self.written += len(raw_data)
        if self.written > self.most_bytes():
            self.refuse(too_big())
        super().receive_data_chunk(raw_data, start)

    def refuse(self, error: DomainError) -> None:
        self.request.upload_refused = error
        # Reads on without writing, so that the answer reaches a browser that is still sending.
        raise SkipFile

    def upload_interrupted(self) -> None:
        """Also where the sender went away: no closing boundary ever came."""
        super().upload_interrupted()
        if getattr(self.request, "upload_refused", None) is None:
            message = _("The film did not arrive whole. Send it again.")
            self.request.upload_refused = DomainError("file.cut_short", message, field="file")


def refusal(upload_of: Any) -> DomainError | None:
    """Why the upload that came with a request was not taken, if it was not."""
    return getattr(upload_of, "upload_refused", None)
