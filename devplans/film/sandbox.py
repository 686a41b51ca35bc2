"""Run jobs on films in a child process with limits: uploaded files are never read in this one.

    probe(path) -> Probe
    prepare(source, playable=path, poster=path, on_progress=f, cancelled=f) -> Probe
    still(source, ms) -> JPEG bytes
    cut_clip(source, out, start_ms=, end_ms=, cancelled=f) -> length in ms

All raise NotAFilm (the file is at fault) or MediaError, both with a `.reason` to show, and then
leave nothing behind. Results appear at their paths whole or not at all. `cancelled` is asked twice
a second; when it says True, or `on_progress` raises, the child is killed.
"""

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
from typing import Any

import devplans
from devplans.film.facts import Probe
from devplans.film.faults import CRASHED, STOPPED, TOO_SLOW, MediaError, NotAFilm

logger = logging.getLogger(__name__)

_PACKAGES = str(Path(devplans.__path__[0]).parent)
_ASK_EVERY_S = 0.5
_TEMP_PREFIX = "film-job-"
_READ_AT_ONCE = 65_536


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a child may use. `quiet_s` ends a job that has made no progress for so long."""

    memory_mb: int = 1000
    cpu_s: int = 60
    file_mb: int = 64
    wall_s: float = 30
    quiet_s: float = 30
    nice: int = 0


_HOUR_S = 3600
PROBE_LIMITS = Limits(cpu_s=28, wall_s=29, nice=5)
STILL_LIMITS = Limits(cpu_s=28, wall_s=29)
CLIP_LIMITS = Limits(cpu_s=600, wall_s=300, quiet_s=300, file_mb=256, nice=5)
PREPARE_LIMITS = Limits(
    cpu_s=96 * _HOUR_S, wall_s=48 * _HOUR_S, quiet_s=30, file_mb=16_384, nice=10
)

Progress = Callable[[float], None]
Cancelled = Callable[[], bool]


def probe(path: Path | str, *, limits: Limits = PROBE_LIMITS) -> Probe:
    """What the film is; a hostile file ends in NotAFilm within 30 s and 1 GB."""
    with _workshop() as folder:
        return Probe(**run_job("probe", folder=folder, limits=limits, source=_absolute(path)))


def prepare(
    source: Path | str,
    *,
    playable: Path | str,
    poster: Path | str,
    on_progress: Progress | None = None,
    cancelled: Cancelled | None = None,
    limits: Limits = PREPARE_LIMITS,
) -> Probe:
    """Make the playable copy and the poster; the facts returned count what could be decoded.

    A hostile file ends in NotAFilm within 30 s and 1 GB: it is looked at under tight limits first.
    """
    with _workshop(Path(playable).parent) as folder:
        run_job("check", folder=folder, limits=PROBE_LIMITS, source=_absolute(source))
        facts = run_job(
            "prepare",
            folder=folder,
            limits=limits,
            on_progress=on_progress,
            cancelled=cancelled,
            source=_absolute(source),
            playable="playable.mp4",
            poster="poster.jpg",
        )
        _deliver(folder / "poster.jpg", Path(poster))
        _deliver(folder / "playable.mp4", Path(playable))
        return Probe(**facts)


def still(source: Path | str, ms: int, *, limits: Limits = STILL_LIMITS) -> bytes:
    """JPEG of the original's frame on screen at `ms`; see devplans.film.stills."""
    with _workshop() as folder:
        run_job(
            "still",
            folder=folder,
            limits=limits,
            source=_absolute(source),
            ms=max(0, ms),
            out="still.jpg",
        )
        return (folder / "still.jpg").read_bytes()


def cut_clip(
    source: Path | str,
    out: Path | str,
    *,
    start_ms: int,
    end_ms: int,
    cancelled: Cancelled | None = None,
    limits: Limits = CLIP_LIMITS,
) -> int:
    """Cut [start, end) of the source, at most 30 s and 720p; returns the clip's length in ms."""
    with _workshop(Path(out).parent) as folder:
        made = run_job(
            "clip",
            folder=folder,
            limits=limits,
            cancelled=cancelled,
            source=_absolute(source),
            out="clip.mp4",
            start_ms=start_ms,
            end_ms=end_ms,
        )
        _deliver(folder / "clip.mp4", Path(out))
        return int(made["duration_ms"])


def run_job(
    verb: str,
    *,
    folder: Path,
    limits: Limits,
    on_progress: Progress | None = None,
    cancelled: Cancelled | None = None,
    **options: object,
) -> dict[str, Any]:
    """Run one job in `folder` and return its result; the child's whole group is gone afterwards."""
    with (folder / "errors.txt").open("wb") as errors:
        child = subprocess.Popen(
            [sys.executable, "-P", "-m", "devplans.film.media_job", verb]
            + [f"{name}={value}" for name, value in {**_own_limits(limits), **options}.items()],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=errors,
            cwd=folder,
            env={
                "PYTHONPATH": _PACKAGES,
                "LANG": "C.UTF-8",
                "MALLOC_ARENA_MAX": "2",
                "TMPDIR": str(folder),
            },
            start_new_session=True,
        )
    try:
        result = _Listener(limits, on_progress, cancelled).result_of(child)
    finally:
        _end(child)
    if not isinstance(result, dict):
        said = (folder / "errors.txt").read_text(errors="replace")[-1000:]
        logger.error("film job %s ended with %s: %s", verb, child.returncode, said)
        _raise_for(child.returncode)
    return dict(result)


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
        self, limits: Limits, on_progress: Progress | None, cancelled: Cancelled | None
    ) -> None:
        self._on_progress = on_progress
        self._cancelled = cancelled
        self._quiet_s = limits.quiet_s
        self._heard = time.monotonic()
        self._wall_end = self._heard + limits.wall_s
        self._is_finishing = False

    def result_of(self, child: subprocess.Popen[bytes]) -> Any:
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
        if self._on_progress:
            self._on_progress(line["progress"])

    def _wait(self) -> None:
        if time.monotonic() - self._heard > self._quiet_s:
            raise NotAFilm(TOO_SLOW)
        # Whoever keeps up a lease by the progress must not lose it in the announced silence.
        if self._is_finishing and self._on_progress:
            self._on_progress(1.0)


def _lines(child: subprocess.Popen[bytes]) -> Iterator[dict[str, Any] | None]:
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


def _end(child: subprocess.Popen[bytes]) -> None:
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, signal.SIGKILL)
    child.wait()
    if child.stdout is not None:
        child.stdout.close()


def _error(said: dict[str, Any]) -> MediaError:
    kind = NotAFilm if said["film"] else MediaError
    return kind(said["reason"], said["detail"])


def _raise_for(code: int) -> None:
    # The kernel's word for processor time used up; a film that needs so much is at fault itself.
    if code in {-signal.SIGXCPU, -signal.SIGKILL}:
        raise NotAFilm(TOO_SLOW)
    raise MediaError(CRASHED, f"exit code {code}")


def _own_limits(limits: Limits) -> dict[str, int]:
    return {
        "memory_mb": limits.memory_mb,
        "cpu_s": limits.cpu_s,
        "file_mb": limits.file_mb,
        "nice": limits.nice,
    }


@contextmanager
def _workshop(beside: Path | None = None) -> Iterator[Path]:
    """A private folder that goes away; beside the result, so that moving that is one step."""
    if beside is not None:
        beside.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix=_TEMP_PREFIX, dir=beside))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _deliver(made: Path, wanted: Path) -> None:
    wanted.parent.mkdir(parents=True, exist_ok=True)
    with made.open("rb+") as file:
        os.fsync(file.fileno())
    shutil.move(made, wanted)


def _absolute(path: Path | str) -> Path:
    return Path(path).resolve()
