"""One job on a film in a child process with limits; what it says of itself, and how it ended."""

import json
import logging
import os
import selectors
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import devplans
from devplans.film.faults import (
    CRASHED,
    OUT_OF_MEMORY,
    STOPPED,
    TOO_SLOW,
    MediaError,
    NotAFilm,
    OutOfMemory,
)
from devplans.film.nursery import Forked, Unavailable, nursery

logger = logging.getLogger(__name__)

PACKAGES = str(Path(devplans.__path__[0]).parent)
_JOBS = "devplans.film.media_job"
_ASK_EVERY_S = 0.5
_TEMP_PREFIX = "film-job-"
_READ_AT_ONCE = 65_536

Progress = Callable[[float], None]
Cancelled = Callable[[], bool]
Line = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a child may use. `quiet_s` ends a job that has made no progress for so long."""

    memory_mb: int = 1000
    cpu_s: int = 60
    file_mb: int = 64
    wall_s: float = 30
    quiet_s: float = 30
    nice: int = 0


def run_job(
    verb: str,
    *,
    folder: Path,
    limits: Limits,
    on_progress: Progress | None = None,
    on_line: Callable[[Line], None] | None = None,
    cancelled: Cancelled | None = None,
    is_forked: bool = False,
    module: str = _JOBS,
    **options: object,
) -> dict[str, Any]:
    """Run one job in `folder` and return its result; the child's whole group is gone afterwards.

    is_forked: of a process that has loaded the decoder already, see devplans.film.nursery.
    module: whose `main` takes on the limits and knows the verb.
    """
    arguments = [verb]
    arguments += [f"{name}={value}" for name, value in {**_own_limits(limits), **options}.items()]
    with (folder / "errors.txt").open("wb") as errors:
        child = _started(module, arguments, folder, errors, is_forked=is_forked)
    try:
        result = _Listener(limits, on_progress, on_line, cancelled).result_of(child)
    finally:
        _end(child)
    if not isinstance(result, dict):
        said = (folder / "errors.txt").read_text(errors="replace")[-1000:]
        logger.error("film job %s ended with %s: %s", verb, child.returncode, said)
        _raise_for(child.returncode)
    return dict(result)


def _started(
    module: str, arguments: list[str], folder: Path, errors: IO[bytes], *, is_forked: bool
) -> subprocess.Popen[bytes] | Forked:
    env = {"PYTHONPATH": PACKAGES, "LANG": "C.UTF-8", "MALLOC_ARENA_MAX": "2"}
    if is_forked:
        try:
            return nursery.start(arguments, folder=folder, errors=errors, env=env)
        except Unavailable:
            logger.warning("no process to fork: a film job starts on its own")
    return subprocess.Popen(
        [sys.executable, "-P", "-m", module, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=errors,
        cwd=folder,
        env={**env, "TMPDIR": str(folder)},
        start_new_session=True,
    )


def sweep(folder: Path, *, older_than_s: float) -> int:
    """Remove what jobs left in `folder` when this process was killed; returns how many."""
    found = 0
    for left in folder.glob(f"{_TEMP_PREFIX}*"):
        with suppress(FileNotFoundError):
            if time.time() - left.stat().st_mtime > older_than_s:
                shutil.rmtree(left, ignore_errors=True)
                found += 1
    return found


class _Listener:
    """What a job says of itself, and when its patience with the job ends."""

    def __init__(
        self,
        limits: Limits,
        on_progress: Progress | None,
        on_line: Callable[[Line], None] | None,
        cancelled: Cancelled | None,
    ) -> None:
        self._on_progress = on_progress
        self._on_line = on_line
        self._cancelled = cancelled
        self._quiet_s = limits.quiet_s
        self._heard = time.monotonic()
        self._wall_end = self._heard + limits.wall_s
        self._is_finishing = False

    def result_of(self, child: subprocess.Popen[bytes] | Forked) -> Any:
        for line in _lines(child):
            if line is None:
                self._wait()
            elif "error" in line:
                raise _error(line["error"])
            elif "result" in line:
                return line["result"]
            else:
                self._note(line)
            if self._cancelled and self._cancelled():
                raise MediaError(STOPPED)
            if time.monotonic() > self._wall_end:
                raise NotAFilm(TOO_SLOW)
        return None

    def _note(self, line: dict[str, Any]) -> None:
        self._heard = time.monotonic()
        if "patience_s" in line:
            self._quiet_s = line["patience_s"]
            self._is_finishing = True
        if "progress" not in line:
            if self._on_line:
                self._on_line(line)
        elif self._on_progress:
            self._on_progress(line["progress"])

    def _wait(self) -> None:
        if time.monotonic() - self._heard > self._quiet_s:
            raise NotAFilm(TOO_SLOW)
        # Whoever keeps up a lease by the progress must not lose it in the announced silence.
        if self._is_finishing and self._on_progress:
            self._on_progress(1.0)


def _lines(child: subprocess.Popen[bytes] | Forked) -> Iterator[Line | None]:
    """The child's messages as they come; None twice a second while there are none."""
    assert child.stdout is not None  # noqa: S101 - for the type checker
    rest = b""
    with selectors.DefaultSelector() as waiting:
        waiting.register(child.stdout, selectors.EVENT_READ)
        while True:
            if not waiting.select(_ASK_EVERY_S):
                yield None
                continue
            piece = os.read(child.stdout.fileno(), _READ_AT_ONCE)
            if not piece:
                return
            *whole, rest = (rest + piece).split(b"\n")
            yield from map(json.loads, whole)


def _end(child: subprocess.Popen[bytes] | Forked) -> None:
    if isinstance(child, Forked):
        child.end()
        return
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, signal.SIGKILL)
    child.wait()
    if child.stdout is not None:
        child.stdout.close()


def _error(said: dict[str, Any]) -> MediaError:
    kind = NotAFilm if said["film"] else MediaError
    return kind(said["reason"], said["detail"])


def _raise_for(code: int | None) -> None:
    # The kernel's word for processor time used up; a film that needs so much is at fault itself.
    if code == -signal.SIGXCPU:
        raise NotAFilm(TOO_SLOW)
    # Nobody but the kernel kills like this, and only for memory: we kill once we have our answer.
    if code == -signal.SIGKILL:
        raise OutOfMemory(OUT_OF_MEMORY)
    raise MediaError(CRASHED, f"exit code {code}")


def _own_limits(limits: Limits) -> dict[str, int]:
    return {
        "memory_mb": limits.memory_mb,
        "cpu_s": limits.cpu_s,
        "file_mb": limits.file_mb,
        "nice": limits.nice,
    }


@contextmanager
def workshop(beside: Path | None = None) -> Iterator[Path]:
    """A private folder that goes away; beside the result, so that moving that is one step."""
    if beside is not None:
        beside.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix=_TEMP_PREFIX, dir=beside))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def deliver(made: Path, wanted: Path) -> None:
    wanted.parent.mkdir(parents=True, exist_ok=True)
    with made.open("rb+") as file:
        os.fsync(file.fileno())
    shutil.move(made, wanted)


def absolute(path: Path | str) -> Path:
    return Path(path).resolve()
