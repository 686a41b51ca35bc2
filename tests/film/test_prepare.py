"""From waiting to ready or failed: leases, progress, killed workers, hostile films."""

import os
import shutil
import signal
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.core.files import File
from django.core.files.storage import FileSystemStorage, default_storage
from django.utils import timezone

from devplans.core import leases
from devplans.film import child, faults, frame_times, intake, preparing, sandbox, services, tasks
from devplans.film.facts import Probe
from devplans.film.faults import MediaError, NotAFilm
from devplans.film.models import Film
from tests import factories as make
from tests.film import films


def waiting_film(squad, path: Path | None = None, **fields) -> Film:
    film = make.make_film(
        squad,
        **{"state": "waiting", "progress": 0, "duration_ms": None, "size_bytes": 1000, **fields},
    )
    if path is not None:
        with path.open("rb") as file:
            film.original_key = default_storage.save(f"films/{film.pk}/original", File(file))
        film.save(update_fields=["original_key"])
    return film


def prepared(film: Film) -> Film:
    assert services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    return film


def files_of(film: Film) -> set[str]:
    folder = Path(default_storage.path(f"films/{film.pk}"))
    return {path.name for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def bikes(cast):
    return waiting_film(cast.squad, films.shared_film("bikes"))


@pytest.fixture
def job(monkeypatch):
    """Puts `run(on_progress, cancelled)` in the place of the child process."""

    def put(run):
        def prepare(sources, *, playable, poster, on_progress, cancelled, **_more):
            run(on_progress=on_progress, cancelled=cancelled)
            poster.write_bytes(b"poster")
            playable.write_bytes(b"copy")
            return Probe(
                duration_ms=5000, announced_ms=5000, width=64, height=36, rotation=0,
                has_audio=False, codec="h264", frames=125, first_pts=0, time_base="1/25", rate=25.0,
                hdr=False, problem="",
            )  # fmt: skip

        monkeypatch.setattr(sandbox, "prepare", prepare)
        monkeypatch.setattr(sandbox, "sheets", lambda _playable, _folder, **_more: {})
        monkeypatch.setattr(frame_times, "steps_of", lambda _path: [40] * 124)

    return put


def test_a_film_of_others_becomes_ready(bikes):
    film = prepared(bikes)
    assert (film.state, film.progress, film.problem) == ("ready", 1, "")
    assert (film.duration_ms, film.width, film.height) == (10_000, 640, 272)
    assert film.ready_at is not None
    assert (film.lease_until, film.lease_token, film.attempts) == (None, None, 1)
    made = {"playable.mp4", "poster.jpg", "frames.json.gz", "sheet-0.jpg"}
    assert files_of(film) == {"original", *made}
    assert default_storage.open(film.poster_key).read(2) == b"\xff\xd8"


@pytest.mark.parametrize("name", ["steady", "irregular", "late", "phone", "web"])
def test_the_frame_times_are_those_of_the_film_rounded_up(cast, of_kind, name):
    kind, path = of_kind[name]
    film = prepared(waiting_film(cast.squad, path))
    steps = frame_times.steps_of(default_storage.path(film.playable_key))
    times = [sum(steps[:index]) for index in range(len(steps) + 1)]
    assert times == [-(-second.numerator * 1000 // second.denominator) for second in kind.seconds()]


def test_a_film_that_ends_early_is_ready_and_says_up_to_where(cast, tmp_path, of_kind):
    whole = of_kind["broadcast"][1].read_bytes()
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(whole[: len(whole) * 6 // 10])
    film = prepared(waiting_film(cast.squad, cut))
    assert film.state == "ready"
    assert "up to 0:0" in film.problem
    assert 1000 <= film.duration_ms < 5000


def test_hostile_films_end_failed_with_nothing_kept(cast, tmp_path, of_kind, settings):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    reasons = {}
    for name, path in films.hostile(tmp_path, of_kind["steady"][1]).items():
        film = prepared(waiting_film(cast.squad, path))
        reasons[name] = film.problem
        assert film.state == "failed", name
        assert film.original_key == film.playable_key == film.poster_key == ""
        assert not Path(default_storage.path(f"films/{film.pk}")).exists()
    assert all(reasons.values())
    assert reasons["blink"] == faults.TOO_SHORT
    assert reasons["sound-only"] == faults.NO_PICTURE
    assert list(intake.folder_for_work().glob(f"{preparing.FOLDER_PREFIX}*")) == []


def test_a_ready_film_is_left_alone(bikes):
    prepared(bikes)
    key = bikes.playable_key
    assert not services.prepare_film(film_id=bikes.pk)
    bikes.refresh_from_db()
    assert bikes.playable_key == key


def test_a_film_that_is_gone_is_no_error(cast):
    assert services.prepare_film(film_id=uuid4()) is False


def test_who_holds_the_lease_is_not_disturbed(bikes):
    Film.objects.filter(pk=bikes.pk).update(
        state="preparing", lease_token=uuid4(), lease_until=timezone.now() + timedelta(seconds=5)
    )
    assert services.prepare_film(film_id=bikes.pk) is False
    assert services.sweep() == []


def test_a_lost_lease_is_found_by_the_sweep_and_taken_over(bikes, monkeypatch):
    Film.objects.filter(pk=bikes.pk).update(
        state="preparing",
        attempts=1,
        progress=0.6,
        lease_token=uuid4(),
        lease_until=timezone.now() - timedelta(seconds=1),
    )
    assert tasks.sweep.delay().get() == 1
    bikes.refresh_from_db()
    assert (bikes.state, bikes.attempts) == ("ready", 2)


def test_waiting_films_are_rung_for_again_oldest_first(cast, monkeypatch):
    rung = []
    monkeypatch.setattr(tasks.prepare, "delay", rung.append)
    older, newer = waiting_film(cast.squad), waiting_film(cast.other_squad)
    make.make_film(cast.squad)
    waiting_film(cast.squad, lease_until=timezone.now() + timedelta(minutes=1))
    assert services.sweep() == [older.pk, newer.pk]
    assert rung == [str(older.pk), str(newer.pk)]


def test_progress_is_written_and_keeps_the_lease_up(bikes, job, monkeypatch):
    seen = []
    clock = SimpleNamespace(now=100.0)
    monkeypatch.setattr(leases, "time", SimpleNamespace(monotonic=lambda: clock.now))

    def run(on_progress, **_rest):
        for share in (0.1, 0.2, 0.3):
            Film.objects.filter(pk=bikes.pk).update(lease_until=timezone.now())
            clock.now += 0.6
            on_progress(share)
            film = Film.objects.get(pk=bikes.pk)
            seen.append((film.progress, film.lease_until > timezone.now() + timedelta(seconds=60)))

    job(run)
    prepared(bikes)
    assert seen == [(0, False), (0.2, True), (0.2, False)]


def test_a_step_without_progress_keeps_the_lease_up_too(bikes, job, monkeypatch):
    clock = SimpleNamespace(now=100.0)
    monkeypatch.setattr(leases, "time", SimpleNamespace(monotonic=lambda: clock.now))
    seen = []

    def run(cancelled, **_rest):
        for _time in range(4):
            Film.objects.filter(pk=bikes.pk).update(lease_until=timezone.now())
            clock.now += 10
            assert not cancelled()
            film = Film.objects.get(pk=bikes.pk)
            seen.append(film.lease_until > timezone.now() + timedelta(seconds=60))
        Film.objects.filter(pk=bikes.pk).update(lease_token=uuid4())
        clock.now += 20
        seen.append(cancelled())
        raise MediaError(faults.STOPPED)

    job(run)
    assert services.prepare_film(film_id=bikes.pk) is False
    assert seen == [False, True, False, True, True]
    assert files_of(bikes) == {"original"}


def test_a_worker_that_lost_its_lease_stops_and_leaves_nothing_of_its_own(bikes, job, monkeypatch):
    other = uuid4()

    def run(on_progress, **_rest):
        Film.objects.filter(pk=bikes.pk).update(lease_token=other)

    job(run)
    assert services.prepare_film(film_id=bikes.pk) is False
    bikes.refresh_from_db()
    assert (bikes.state, bikes.lease_token, bikes.playable_key) == ("preparing", other, "")
    assert files_of(bikes) == {"original"}


def test_a_film_deleted_meanwhile_stops_the_work(bikes, job, monkeypatch):
    monkeypatch.setattr(preparing, "NOTE_EVERY_S", 0)
    after = []

    def run(on_progress, **_rest):
        Film.objects.filter(pk=bikes.pk).delete()
        on_progress(0.5)
        after.append("went on")

    job(run)
    assert services.prepare_film(film_id=bikes.pk) is False
    assert after == []


def test_a_killed_child_is_tried_again_and_given_up_after_three_times(bikes, monkeypatch):
    real, killed = child.subprocess.Popen, []

    def start(*args, **options):
        started = real(*args, **options)
        os.kill(started.pid, signal.SIGTERM)
        killed.append(started.pid)
        return started

    monkeypatch.setattr(child.subprocess, "Popen", start)
    for attempt in (1, 2):
        film = prepared(bikes)
        assert (film.state, film.attempts, film.problem) == ("waiting", attempt, faults.CRASHED)
        assert files_of(film) == {"original"}
        assert services.prepare_film(film_id=film.pk) is False, "not before a minute has passed"
        Film.objects.filter(pk=film.pk).update(lease_until=timezone.now())
    film = prepared(bikes)
    assert (film.state, film.problem, film.original_key) == ("failed", faults.CRASHED, "")
    assert len(killed) == 3


def test_a_worker_killed_three_times_parks_the_film(bikes):
    Film.objects.filter(pk=bikes.pk).update(
        state="preparing", attempts=3, lease_token=uuid4(), lease_until=timezone.now()
    )
    film = prepared(bikes)
    assert (film.state, film.problem) == ("failed", faults.CRASHED)


def test_a_full_disk_is_waited_for_and_does_not_count(bikes, monkeypatch):
    monkeypatch.setattr(preparing, "has_room", lambda _size: False)
    film = prepared(bikes)
    assert (film.state, film.attempts, film.problem) == ("waiting", 0, faults.NO_ROOM)
    assert files_of(film) == {"original"}
    monkeypatch.undo()
    Film.objects.filter(pk=bikes.pk).update(lease_until=timezone.now())


@pytest.mark.parametrize(
    ("error", "state", "attempts"),
    [
        (NotAFilm(faults.UNREADABLE), "failed", 1),
        (MediaError(faults.CRASHED), "waiting", 1),
        (MediaError(faults.NO_ROOM), "waiting", 0),
        (OSError("storage is away"), "waiting", 1),
    ],
)
def test_only_the_films_own_fault_ends_it(bikes, job, error, state, attempts):
    def run(**_rest):
        raise error

    job(run)
    film = prepared(bikes)
    assert (film.state, film.attempts) == (state, attempts)
    assert film.problem


class ElsewhereStorage(FileSystemStorage):
    """Stands for a store that has no paths of its own."""

    def path(self, name):
        raise NotImplementedError

    def _real(self) -> FileSystemStorage:
        return FileSystemStorage(location=self.location)

    def _save(self, name, content):
        content.seek(0)
        return self._real()._save(name, File(content))

    def _open(self, name, mode="rb"):
        return self._real()._open(name, mode)

    def exists(self, name):
        return self._real().exists(name)

    def size(self, name):
        return self._real().size(name)

    def listdir(self, path):
        return self._real().listdir(path)

    def delete(self, name):
        self._real().delete(name)


def test_a_film_that_is_stored_elsewhere_is_prepared_from_a_copy(bikes, tmp_path, settings):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    stored = {
        "BACKEND": f"{__name__}.ElsewhereStorage",
        "OPTIONS": {"location": settings.MEDIA_ROOT},
    }
    settings.STORAGES = {**settings.STORAGES, "default": stored}
    with pytest.raises(NotImplementedError):
        default_storage.path(bikes.original_key)
    film = prepared(bikes)
    assert film.state == "ready"
    assert default_storage.open(film.playable_key).read(8)[4:] == b"ftyp"
    assert list(intake.folder_for_work().glob(f"{preparing.FOLDER_PREFIX}*")) == []


def test_folders_of_killed_workers_are_swept_when_they_are_old(tmp_path, settings):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    old, young = (intake.folder_for_work() / f"{preparing.FOLDER_PREFIX}{n}" for n in ("a", "b"))
    for folder in (old, young):
        folder.mkdir()
        shutil.copy(films.shared_film("bikes"), folder / "playable.mp4")
    long_ago = timezone.now().timestamp() - preparing.LEFT_OVER_AFTER_S - 60
    os.utime(old, (long_ago, long_ago))
    preparing.sweep_folders()
    assert (old.exists(), young.exists()) == (False, True)
