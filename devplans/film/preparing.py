"""Making a waiting film ready. Its lease says who works on it; the queue is only a doorbell.

Finished pieces of the copy are kept, so whoever takes the film over goes on behind them.
"""

import logging
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models import F
from django.db.models.functions import Least
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import leases
from devplans.core.leases import LeaseLost
from devplans.film import faults, frame_times, nearby, noting, sandbox, turns
from devplans.film.facts import Probe
from devplans.film.faults import MediaError, NotAFilm, OutOfMemory
from devplans.film.intake import folder_for_work, has_room
from devplans.film.models import Film, FilmFile
from devplans.film.storing import SHELF_PREFIX, Pieces, kept, on_disk, remove_files

__all__ = ["on_disk", "prepare", "prepare_next", "remove_files", "sweep_folders", "work_folder"]

log = logging.getLogger(__name__)
State = Film.State
# A lease runs out only where the worker is gone: while its child works, the worker keeps it up.
LEASE = timedelta(seconds=120)
KEEP_EVERY_S = 15.0
NOTE_EVERY_S = 1.0
MOST_ATTEMPTS = 3
TRY_AGAIN_AFTER = timedelta(minutes=1)
MEMORY_AGAIN_AFTER = timedelta(minutes=10)
SEGMENT_S = sandbox.SEGMENT_S
LEFT_OVER_AFTER_S = 3 * 24 * 3600
FOLDER_PREFIX = "film-work-"
# The last step, keeping the files, comes after the last frame.
MOST_BEFORE_READY = 0.99


class GaveWay(Exception):
    """Somebody waits for another film; this one goes on later where it was."""


class Lease(leases.Lease):
    model, state, lasts = Film, State.PREPARING, LEASE

    def progress(self, share: float) -> None:
        """Note how far it is, 0..1, and keep the lease up; at most once a second."""
        self.keep_up(NOTE_EVERY_S, progress=min(share, MOST_BEFORE_READY))

    def is_lost(self) -> bool:
        """Keep the lease up through steps that tell no progress; True where it is ours no more."""
        try:
            self.keep_up(KEEP_EVERY_S)
        except LeaseLost:
            return True
        return False

    def piece_done(self) -> None:
        """Another piece is kept: there is always one more attempt then, for the pieces to come.

        Raises GaveWay where somebody waits for another film.
        """
        self.keep(attempts=Least(F("attempts"), MOST_ATTEMPTS - 1))
        if turns.gives_way(self.key):
            raise GaveWay


def claim(film_id: UUID) -> Lease | None:
    """Take the lease of a film that may be claimed now; None where there is nothing to do."""
    now = timezone.now()
    begun = {"begun_at": now, "begun_share": F("progress"), "problem": ""}
    return Lease.claim(Film.objects.claimable(now), film_id, **begun)


def prepare(film_id: UUID) -> bool:
    """See services.prepare_film."""
    lease = claim(film_id)
    if lease is None:
        return False
    try:
        return work(lease)
    except LeaseLost:
        if not Film.objects.filter(pk=film_id).exists():
            remove_files(film_id)
        return False


def prepare_next() -> bool:
    """See services.prepare_next_film."""
    film_id = turns.next_id()
    return film_id is not None and prepare(film_id)


def work(lease: Lease) -> bool:
    film = Film.objects.get(pk=lease.key)
    if film.attempts > MOST_ATTEMPTS:
        return fail(lease, _(faults.CRASHED))
    if not has_room(film.size_bytes):
        return wait(lease, _(faults.NO_ROOM), counts=False)
    try:
        make_ready(film, lease)
    except GaveWay:
        return give_way(lease)
    except NotAFilm as error:
        return fail(lease, _(error.reason))
    except OutOfMemory as error:
        return wait(lease, _(error.reason), counts=False, again_after=MEMORY_AGAIN_AFTER)
    except MediaError as error:
        return wait(lease, _(error.reason), counts=error.reason != faults.NO_ROOM)
    except OSError:
        log.exception("film %s: storage or disk", film.pk)
        return wait(lease, _(faults.STOPPED), counts=True)
    return True


def make_ready(film: Film, lease: Lease) -> None:
    pieces = Pieces(film.pk)
    with work_folder() as folder:
        playable, poster = folder / "playable.mp4", folder / "poster.jpg"
        sources = [on_disk(key, folder) for key in film.original_keys()]
        pieces.fetch()

        def on_segment() -> None:
            pieces.push()
            lease.piece_done()

        facts = sandbox.prepare(
            sources,
            playable=playable,
            poster=poster,
            shelf=pieces.folder,
            on_progress=lease.progress,
            on_segment=on_segment,
            cancelled=lease.is_lost,
            segment_s=SEGMENT_S,
        )
        parts = sandbox.kept_parts(pieces.folder, sources, segment_s=SEGMENT_S)
        steps = frame_times.steps_of(playable)
        sprite = drawn_sheets(playable, folder, lease)
        place = f"films/{film.pk}/{lease.token.hex}"
        sheets = [f"sheet-{number}.jpg" for number in range(sprite.get("sheets", 0))]
        keys = {
            "frames_key": default_storage.save(
                f"{place}/frames.json.gz", ContentFile(frame_times.packed(steps))
            ),
            "playable_key": kept(f"{place}/playable.mp4", playable),
            "poster_key": kept(f"{place}/poster.jpg", poster),
        }
        sprite["keys"] = [kept(f"{place}/{name}", folder / name) for name in sheets]
        for file, part in zip(film.files.all(), parts, strict=False):
            FilmFile.objects.filter(pk=file.pk).update(duration_ms=part.length_ms)
        try:
            notes = noting.notes_of(facts, steps, files=len(sources))
            lease.end(**ready_fields(facts), **keys, notes=notes, sprite=sprite)
        except LeaseLost:
            for key in (*keys.values(), *sprite["keys"]):
                default_storage.delete(key)
            raise
    pieces.clear()


def drawn_sheets(playable: Path, folder: Path, lease: Lease) -> dict[str, Any]:
    """Small pictures for the line; a film without them is ready all the same."""
    try:
        return sandbox.sheets(playable, folder, cancelled=lease.is_lost)
    except MediaError:
        if lease.is_lost():
            raise
        log.exception("film %s: no pictures for the line", lease.key)
        return {}


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


def give_way(lease: Lease) -> bool:
    """Let the film that is wanted go first; the bell is rung for this one once more."""
    from devplans.film import tasks

    lease.end(state=State.WAITING, attempts=F("attempts") - 1)
    tasks.prepare.delay(str(lease.key))
    return False


def fail(lease: Lease, problem: str) -> bool:
    """The film cannot be prepared: say why, and keep nothing of it."""
    lease.end(state=State.FAILED, problem=problem, original_key="", progress=0)
    FilmFile.objects.filter(film_id=lease.key).update(key="")
    remove_files(lease.key)
    return True


def wait(
    lease: Lease, problem: str, *, counts: bool, again_after: timedelta = TRY_AGAIN_AFTER
) -> bool:
    """Something else is at fault: keep the film and try again, three times if it `counts`."""
    film = Film.objects.get(pk=lease.key)
    if counts and film.attempts >= MOST_ATTEMPTS:
        return fail(lease, problem)
    lease.write(
        state=State.WAITING,
        problem=problem,
        lease_until=timezone.now() + again_after,
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
    nearby.sweep()
    for prefix in (FOLDER_PREFIX, SHELF_PREFIX):
        for folder in folder_for_work().glob(f"{prefix}*"):
            with suppress(FileNotFoundError):
                if time.time() - folder.stat().st_mtime > LEFT_OVER_AFTER_S:
                    shutil.rmtree(folder, ignore_errors=True)
