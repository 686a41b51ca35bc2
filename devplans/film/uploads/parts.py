"""Where the bytes of uploads lie until a file is whole: `Parts` says what such a store can do.

An upload's `handle` is the store's own name for what has arrived so far; it is kept with the
upload, and nothing else is: how much is there is always asked of the store itself. No Django here.
"""

import errno
import fcntl
import os
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Protocol

# A sender whose network vanished may keep a request open that nothing comes through any more.
IDLE_S = 20.0
STRAY_AFTER_S = 24 * 3600
SUFFIX = ".part"
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


class PartGone(Exception):
    """Nothing is there under this handle (any more)."""


class Held(Exception):
    """Another request is sending to this upload right now."""


class NoRoom(Exception):
    """The disk is full. What was written before stays; `size` says how much that is."""


class BadChecksum(Exception):
    """What came is not what was sent; the part is as long as it was before."""


class Parts(Protocol):
    """A store of unfinished files.

    Between `hold` and its end no other caller may append to the same part, in no process.
    """

    def create(self, name: str, length: int) -> str:
        """Begin a part of `length` bytes in the end, and return its handle. name: unique."""

    def size(self, handle: str) -> int:
        """Bytes that are safely there: where the sender goes on. Raises PartGone."""

    def head(self, handle: str, count: int) -> bytes:
        """The first `count` bytes, or as many as there are."""

    @contextmanager
    def hold(self, handle: str) -> Iterator[None]:
        """Keep others from appending; raises Held, or PartGone."""
        yield

    def append(
        self, handle: str, pieces: Iterable[bytes], *, intact: Callable[[], bool] | None = None
    ) -> int:
        """Write `pieces` behind what is there; the new size. Call it inside `hold`.

        intact: asked after the last piece; where it says no, all of this call is taken back and
        BadChecksum raised. Raises NoRoom, with what fits kept (nothing, where `intact` is given).
        What `pieces` raises goes through, and what was written before stays in the same way.
        """

    def finish(self, handle: str, key: str, length: int) -> None:
        """Move the whole part to the storage's `key`, safely; done already: nothing happens.

        Raises PartGone where neither the part nor a file of `length` bytes is there.
        """

    def abort(self, handle: str) -> None:
        """Forget the part; nothing there: nothing happens."""

    def has_room(self, size_bytes: int, reserve_bytes: int) -> bool:
        """Would so many more bytes fit, with the reserve left for everything else?"""

    def strays(self, known: set[str]) -> list[str]:
        """Handles of parts that nobody knows and nobody wrote to for a day."""


class LocalParts:
    """One file for each part in `folder`; whole ones are moved into `media`.

    Both should lie on one file system, so that a move is one step and copies nothing.
    """

    def __init__(self, folder: Path, media: Path) -> None:
        self.folder, self.media = folder, media

    def create(self, name: str, length: int) -> str:
        self.folder.mkdir(parents=True, exist_ok=True)
        path = self.folder / f"{name}{SUFFIX}"
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        return path.name

    def path(self, handle: str) -> Path:
        return self.folder / handle

    def size(self, handle: str) -> int:
        try:
            return self.path(handle).stat().st_size
        except FileNotFoundError as error:
            raise PartGone from error

    def head(self, handle: str, count: int) -> bytes:
        try:
            with self.path(handle).open("rb") as file:
                return file.read(count)
        except FileNotFoundError as error:
            raise PartGone from error

    @contextmanager
    def hold(self, handle: str) -> Iterator[None]:
        """The system ends a lock with its process. One that nothing came through is taken over."""
        self.size(handle)
        lock = self._lock(handle)
        try:
            yield
        finally:
            lock.close()

    def _lock(self, handle: str) -> IO[bytes]:
        path = self._lock_path(handle)
        for is_second_try in (False, True):
            lock = path.open("ab")
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError as error:
                lock.close()
                if is_second_try or not self._is_idle(handle):
                    raise Held from error
                path.unlink(missing_ok=True)
                continue
            if self._is_current(lock, path):
                os.utime(path)
                return lock
            lock.close()
        raise Held

    def _lock_path(self, handle: str) -> Path:
        return self.folder / f"{handle}.lock"

    def _is_idle(self, handle: str) -> bool:
        """Did neither a request begin nor a byte arrive for a while?"""
        newest = 0.0
        for path in (self.path(handle), self._lock_path(handle)):
            with suppress(FileNotFoundError):
                newest = max(newest, path.stat().st_mtime)
        return time.time() - newest > IDLE_S

    @staticmethod
    def _is_current(lock: IO[bytes], path: Path) -> bool:
        """False where somebody took the lock over: then its file is another one."""
        try:
            return os.path.samestat(os.fstat(lock.fileno()), path.stat())
        except FileNotFoundError:
            return False

    def append(
        self, handle: str, pieces: Iterable[bytes], *, intact: Callable[[], bool] | None = None
    ) -> int:
        try:
            part = os.open(self.path(handle), os.O_WRONLY)
        except FileNotFoundError as error:
            raise PartGone from error
        try:
            begin = os.fstat(part).st_size
            mine = self._same_lock(handle)
            try:
                end = self._write(part, begin, pieces, mine=mine)
                if intact is not None and not intact():
                    raise BadChecksum
            except BaseException:
                if intact is not None and mine():
                    os.ftruncate(part, begin)
                raise
            finally:
                os.fsync(part)
            return end
        finally:
            os.close(part)

    def _same_lock(self, handle: str) -> Callable[[], bool]:
        """Asks later whether the lock is still the one that is there now."""
        path = self._lock_path(handle)

        def mark() -> int | None:
            try:
                return path.stat().st_ino
            except FileNotFoundError:
                return None

        now = mark()
        return lambda: mark() == now

    @staticmethod
    def _write(part: int, begin: int, pieces: Iterable[bytes], *, mine: Callable[[], bool]) -> int:
        at = begin
        for piece in pieces:
            # Others may have taken over while this piece was waited for.
            if not mine():
                raise Held
            left = memoryview(piece)
            while left:
                try:
                    count = os.pwrite(part, left, at)
                except OSError as error:
                    raise NoRoom if error.errno in FULL else error from error
                at += count
                left = left[count:]
        return at

    def finish(self, handle: str, key: str, length: int) -> None:
        part, whole = self.path(handle), self.media / key
        if not part.exists():
            if whole.exists() and whole.stat().st_size == length:
                return
            raise PartGone
        whole.parent.mkdir(parents=True, exist_ok=True)
        try:
            os.replace(part, whole)
        except OSError as error:
            if error.errno != errno.EXDEV:
                raise
            _copy_then_move(part, whole)
        _keep_folder(whole.parent)
        self._lock_path(handle).unlink(missing_ok=True)

    def abort(self, handle: str) -> None:
        self.path(handle).unlink(missing_ok=True)
        self._lock_path(handle).unlink(missing_ok=True)

    def has_room(self, size_bytes: int, reserve_bytes: int) -> bool:
        self.folder.mkdir(parents=True, exist_ok=True)
        return shutil.disk_usage(self.folder).free >= size_bytes + reserve_bytes

    def strays(self, known: set[str]) -> list[str]:
        if not self.folder.exists():
            return []
        oldest = time.time() - STRAY_AFTER_S
        found = []
        for path in self.folder.glob(f"*{SUFFIX}"):
            with suppress(FileNotFoundError):
                if path.name not in known and path.stat().st_mtime < oldest:
                    found.append(path.name)
        return sorted(found)


def _copy_then_move(part: Path, whole: Path) -> None:
    """Between two file systems: the file is never there half."""
    beside = whole.with_name(f"{whole.name}.copying")
    shutil.copyfile(part, beside)
    with beside.open("rb+") as file:
        os.fsync(file.fileno())
    os.replace(beside, whole)
    part.unlink()


def _keep_folder(folder: Path) -> None:
    """A move is safe once the folder it went to is written."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
