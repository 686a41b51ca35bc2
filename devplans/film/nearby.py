"""Copies of stored files on this machine's disk, where the storage lies elsewhere.

A game has gigabytes and is asked for many times, for stills above all: so what was fetched stays
for a while, the least used goes first, and a deleted film's goes with it. A key never changes
its content.
"""

import fcntl
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.core.files.storage import default_storage

from devplans.film.intake import folder_for_work, has_room

FOLDER = "nearby"
# Of a film that was deleted on another machine nothing may lie here for long.
UNUSED_S = 24 * 3600
_PART, _LOCK = ".part", ".lock"

Fetch = Callable[[str, Path], None]


def nearby(key: str, folder: Path, fetch: Fetch) -> Path:
    """The file of `key`, fetched at most once for all who ask at the same time.

    It is linked into `folder`, so that it stays readable when its place is needed for another.
    fetch(key, path): writes it to a path. A file that would fill the disk is fetched for this
    caller alone.
    """
    place = _place()
    path, mine = place / _name(key), folder / _name(key)
    size = default_storage.size(key)
    if size > settings.FILM_CACHE_BYTES:
        fetch(key, mine)
        return mine
    with _locked(path):
        if not path.exists():
            _make_room(place, size)
            part = path.with_name(f"{path.name}.{uuid4().hex}{_PART}")
            try:
                fetch(key, part)
                os.replace(part, path)
            finally:
                part.unlink(missing_ok=True)
        # The system's own stamp is too coarse for two uses that follow each other at once.
        now = time.time_ns()
        os.utime(path, ns=(now, now))
        return _linked(path, mine)


def _linked(path: Path, mine: Path) -> Path:
    if mine.exists():
        return mine
    try:
        os.link(path, mine)
    except OSError:
        # Another file system: a copy costs less than fetching it again.
        shutil.copyfile(path, mine)
    return mine


def forget(prefix: str) -> None:
    """Remove the copies of every key that begins with `prefix`."""
    for path in _place().glob(f"{_name(prefix)}*"):
        path.unlink(missing_ok=True)


def sweep() -> None:
    """Remove what nobody asked for in the last day, and what killed processes left."""
    oldest = time.time() - UNUSED_S
    for path in _place().iterdir():
        with suppress(FileNotFoundError):
            if path.stat().st_mtime < oldest:
                path.unlink()


def _place() -> Path:
    place = folder_for_work() / FOLDER
    place.mkdir(exist_ok=True)
    return place


def _name(key: str) -> str:
    return key.replace("/", "-")


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """One process at a time; the system ends a lock with its process."""
    with path.with_name(f"{path.name}{_LOCK}").open("ab") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _make_room(place: Path, size: int) -> None:
    """Let the least used go until `size` bytes more fit, in the cache's share and on the disk."""
    kept = []
    for path in place.iterdir():
        with suppress(FileNotFoundError):
            if path.suffix not in {_PART, _LOCK}:
                found = path.stat()
                kept.append((found.st_mtime, found.st_size, path))
    total = sum(bytes_there for _used, bytes_there, _path in kept)
    for _used, bytes_there, path in sorted(kept):
        if total + size <= settings.FILM_CACHE_BYTES and has_room(size):
            return
        path.unlink(missing_ok=True)
        total -= bytes_there
