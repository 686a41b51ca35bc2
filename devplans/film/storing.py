"""The files of a film in the storage, and the pieces of a copy that is not whole yet."""

import shutil
from collections.abc import Callable, Container, Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage

from devplans.film import nearby
from devplans.film.intake import ORPHAN_AFTER, folder_for_work
from devplans.film.shelf import MANIFEST

SHELF_PREFIX = "film-shelf-"
# Keys in one question to the database.
MOST_ASKED = 400


def on_disk(key: str, folder: Path) -> Path:
    """The stored file itself, or a copy of it in `folder` where files lie elsewhere."""
    try:
        return Path(default_storage.path(key))
    except NotImplementedError:
        return nearby.nearby(key, folder, _fetch)


def _fetch(key: str, copy: Path) -> None:
    with default_storage.open(key) as source, copy.open("wb") as target:
        shutil.copyfileobj(source, target, 1024 * 1024)


class Movable(File):
    """A file that the storage may move to its place instead of copying it."""

    def temporary_file_path(self) -> str:
        return str(self.name)


def kept(key: str, path: Path) -> str:
    with path.open("rb") as file:
        return default_storage.save(key, Movable(file, name=str(path)))


class Pieces:
    """The shelf of a film's unfinished copy, within its own files.

    Where files lie elsewhere the shelf is on this machine, and what is finished is kept there as
    well: another machine can go on with it.
    """

    def __init__(self, film_id: UUID) -> None:
        self.place = f"films/{film_id}/pieces"
        try:
            self.folder = Path(default_storage.path(self.place))
            self._is_elsewhere = False
        except NotImplementedError:
            self.folder = folder_for_work() / f"{SHELF_PREFIX}{film_id}"
            self._is_elsewhere = True

    def fetch(self) -> None:
        """Bring what is kept elsewhere to this machine, the manifest last."""
        if not self._is_elsewhere:
            return
        names = _names(self.place)
        self.folder.mkdir(parents=True, exist_ok=True)
        for name in sorted(names, key=lambda name: name == MANIFEST):
            if name == MANIFEST or not (self.folder / name).exists():
                _fetch(f"{self.place}/{name}", self.folder / name)

    def push(self) -> None:
        """Keep what is new elsewhere as well, the manifest last."""
        if not self._is_elsewhere:
            return
        known = set(_names(self.place))
        new = {path.name for path in self.folder.iterdir()} - known - {MANIFEST}
        for name in (*sorted(new), MANIFEST):
            if name == MANIFEST:
                default_storage.delete(f"{self.place}/{name}")
            with (self.folder / name).open("rb") as file:
                default_storage.save(f"{self.place}/{name}", File(file))

    def clear(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        if self._is_elsewhere:
            remove_folder(self.place)


def _names(place: str) -> list[str]:
    try:
        return list(default_storage.listdir(place)[1])
    except FileNotFoundError:
        return []


def remove_files(film_id: UUID) -> None:
    """Delete every stored file of a film."""
    Pieces(film_id).clear()
    nearby.forget(f"films/{film_id}/")
    remove_folder(f"films/{film_id}")


def remove_unnamed(
    place: str, named: Callable[[list[str]], Container[str]], *, now: datetime
) -> int:
    """Delete the files under `place` that no row names, none of the last day's; how many.

    named: of these keys, those that a row names. What they are for was begun and not committed.
    """
    found = list(_old_files(place, now - ORPHAN_AFTER))
    count = 0
    for first in range(0, len(found), MOST_ASKED):
        keys = found[first : first + MOST_ASKED]
        rows = named(keys)
        for key in keys:
            if key not in rows:
                default_storage.delete(key)
                count += 1
    return count


def _old_files(place: str, before: datetime) -> Iterator[str]:
    try:
        folders, names = default_storage.listdir(place)
    except FileNotFoundError:
        return
    for name in names:
        with suppress(FileNotFoundError):
            if default_storage.get_modified_time(f"{place}/{name}") < before:
                yield f"{place}/{name}"
    for name in folders:
        yield from _old_files(f"{place}/{name}", before)


def remove_folder(place: str) -> None:
    try:
        folders, files = default_storage.listdir(place)
    except FileNotFoundError:
        return
    for name in files:
        default_storage.delete(f"{place}/{name}")
    for name in folders:
        remove_folder(f"{place}/{name}")
    # A folder is a thing of its own only on a disk; FileSystemStorage removes an empty one.
    default_storage.delete(place)
