"""Making a waiting film ready. Its lease says who works on it; the queue is only a doorbell."""

import logging
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.film import faults, frame_times, sandbox
from devplans.film.facts import Probe
from devplans.film.faults import MediaError, NotAFilm
from devplans.film.intake import folder_for_work, has_room
from devplans.film.models import Film

log = logging.getLogger(__name__)
State = Film.State
# A lease runs out only where the worker is gone: while its child works, the worker keeps it up.
LEASE = timedelta(seconds=120)
KEEP_EVERY_S = 15.0
NOTE_EVERY_S = 1.0
MOST_ATTEMPTS = 3
TRY_AGAIN_AFTER = timedelta(minutes=1)
LEFT_OVER_AFTER_S = 3 * 24 * 3600
FOLDER_PREFIX = "film-work-"
# The last step, keeping the files, comes after the last frame.
MOST_BEFORE_READY = 0.99


class LeaseLost(Exception):
    """Somebody else prepares this film now, or it was deleted."""


class Lease:
    """A film that this call prepares, for as long as it says so in time."""

    def __init__(self, film_id: UUID, token: UUID) -> None:
        self.film_id = film_id
        self.token = token
        self.noted_at = time.monotonic()

    def write(self, **fields: Any) -> None:
        """Change the film's row, if the lease is still ours; raises LeaseLost."""
        mine = Film.objects.filter(pk=self.film_id, state=State.PREPARING, lease_token=self.token)
        if not mine.update(updated_at=timezone.now(), **fields):
            raise LeaseLost

    def progress(self, share: float) -> None:
        """Note how far it is, 0..1, and keep the lease up; at most once a second."""
        now = time.monotonic()
        if now - self.noted_at < NOTE_EVERY_S:
            return
        self.noted_at = now
        self.write(progress=min(share, MOST_BEFORE_READY), lease_until=timezone.now() + LEASE)

    def is_lost(self) -> bool:
        """Keep the lease up through steps that tell no progress; True where it is ours no more."""
        now = time.monotonic()
        if now - self.noted_at < KEEP_EVERY_S:
            return False
        self.noted_at = now
        try:
            self.write(lease_until=timezone.now() + LEASE)
        except LeaseLost:
            return True
        return False

    def end(self, **fields: Any) -> None:
        self.write(lease_until=None, lease_token=None, **fields)


def claim(film_id: UUID) -> Lease | None:
    """Take the lease of a film that may be claimed now; None where there is nothing to do."""
    now = timezone.now()
    token = uuid4()
    taken = (
        Film.objects.claimable(now)
        .filter(pk=film_id)
        .update(
            state=State.PREPARING,
            lease_until=now + LEASE,
            lease_token=token,
            attempts=F("attempts") + 1,
            progress=0,
            problem="",
        )
    )
    return Lease(film_id, token) if taken else None


def prepare(film_id: UUID) -> bool:
    """See services.prepare_film."""
    lease = claim(film_id)
    if lease is None:
        return False
    try:
        return work(lease)
    except LeaseLost:
        return False


def work(lease: Lease) -> bool:
    film = Film.objects.get(pk=lease.film_id)
    if film.attempts > MOST_ATTEMPTS:
        return fail(lease, _(faults.CRASHED))
    if not has_room(film.size_bytes):
        return wait(lease, _(faults.NO_ROOM), counts=False)
    try:
        make_ready(film, lease)
    except NotAFilm as error:
        return fail(lease, _(error.reason))
    except MediaError as error:
        return wait(lease, _(error.reason), counts=error.reason != faults.NO_ROOM)
    except OSError:
        log.exception("film %s: storage or disk", film.pk)
        return wait(lease, _(faults.STOPPED), counts=True)
    return True


def make_ready(film: Film, lease: Lease) -> None:
    with work_folder() as folder:
        playable, poster = folder / "playable.mp4", folder / "poster.jpg"
        facts = sandbox.prepare(
            on_disk(film.original_key, folder),
            playable=playable,
            poster=poster,
            on_progress=lease.progress,
            cancelled=lease.is_lost,
        )
        frames = frame_times.packed(frame_times.steps_of(playable))
        place = f"films/{film.pk}/{lease.token.hex}"
        keys = {
            "playable_key": kept(f"{place}/playable.mp4", playable),
            "poster_key": kept(f"{place}/poster.jpg", poster),
            "frames_key": default_storage.save(f"{place}/frames.json.gz", ContentFile(frames)),
        }
        try:
            lease.end(**ready_fields(facts), **keys)
        except LeaseLost:
            for key in keys.values():
                default_storage.delete(key)
            raise


def ready_fields(facts: Probe) -> dict[str, Any]:
    return {
        "state": State.READY,
        "progress": 1,
        "problem": facts.problem,
        "duration_ms": facts.duration_ms,
        "width": facts.width,
        "height": facts.height,
        "ready_at": timezone.now(),
    }


def fail(lease: Lease, problem: str) -> bool:
    """The film cannot be prepared: say why, and keep nothing of it."""
    lease.end(state=State.FAILED, problem=problem, original_key="")
    remove_files(lease.film_id)
    return True


def wait(lease: Lease, problem: str, *, counts: bool) -> bool:
    """Something else is at fault: keep the film and try again, three times if it `counts`."""
    film = Film.objects.get(pk=lease.film_id)
    if counts and film.attempts >= MOST_ATTEMPTS:
        return fail(lease, problem)
    lease.write(
        state=State.WAITING,
        problem=problem,
        lease_until=timezone.now() + TRY_AGAIN_AFTER,
        lease_token=None,
        attempts=film.attempts if counts else film.attempts - 1,
    )
    return True


@contextmanager
def work_folder() -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix=FOLDER_PREFIX, dir=folder_for_work()))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def sweep_folders() -> None:
    """Remove what killed workers left behind; longer ago than any film may take."""
    for folder in folder_for_work().glob(f"{FOLDER_PREFIX}*"):
        with suppress(FileNotFoundError):
            if time.time() - folder.stat().st_mtime > LEFT_OVER_AFTER_S:
                shutil.rmtree(folder, ignore_errors=True)


def on_disk(key: str, folder: Path) -> Path:
    """The stored file itself, or a copy of it in `folder` where files lie elsewhere."""
    try:
        return Path(default_storage.path(key))
    except NotImplementedError:
        copy = folder / "original"
        with default_storage.open(key) as source, copy.open("wb") as target:
            shutil.copyfileobj(source, target, 1024 * 1024)
        return copy


class Movable(File):
    """A file that the storage may move to its place instead of copying it."""

    def temporary_file_path(self) -> str:
        return str(self.name)


def kept(key: str, path: Path) -> str:
    with path.open("rb") as file:
        return default_storage.save(key, Movable(file, name=str(path)))


def remove_files(film_id: UUID) -> None:
    """Delete every stored file of a film."""
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
