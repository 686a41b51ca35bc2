"""The files of a film in the storage, and the pieces of a copy that is not whole yet."""

import shutil
from pathlib import Path
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage

from devplans.film import nearby
from devplans.film.intake import folder_for_work
from devplans.film.shelf import MANIFEST

SHELF_PREFIX = "film-shelf-"


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
