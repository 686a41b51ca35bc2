import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from devplans.film import faults, sandbox
from devplans.film.facts import sniff
from devplans.film.faults import MediaError, NotAFilm
from devplans.film.sandbox import Limits
from tests.film import films

pytestmark = [pytest.mark.once, pytest.mark.long]

REASONS = {
    "empty.mp4": faults.EMPTY,
    "random.mp4": faults.WRONG_TYPE,
    "sheet.mov": faults.WRONG_TYPE,
    "page.mp4": faults.WRONG_TYPE,
    "list.mp4": faults.WRONG_TYPE,
    "playlist.mp4": faults.WRONG_TYPE,
    "picture.mp4": faults.WRONG_TYPE,
    "drawing.mp4": faults.WRONG_TYPE,
    "half-a-header.mp4": faults.UNREADABLE,
    "noise.mp4": faults.UNREADABLE,
    "bomb-64": faults.TOO_LARGE,
    "bomb-12000": faults.TOO_LARGE,
    "sound-only": faults.NO_PICTURE,
    "blink": faults.TOO_SHORT,
}


def children_left():
    """Child processes of this one that are still there, by their command."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            parent = (entry / "stat").read_text().rsplit(")", 1)[1].split()[1]
            command = (entry / "cmdline").read_bytes()
        except (FileNotFoundError, ProcessLookupError):
            continue
        if int(parent) == os.getpid() and b"media_job" in command:
            found.append(command)
    return found


MEASURED = """
import json, resource, sys, time
from pathlib import Path
from devplans.film import sandbox
from devplans.film.faults import NotAFilm
place, source = Path(sys.argv[1]), sys.argv[2]
begun = time.monotonic()
try:
    sandbox.prepare(source, playable=place / "a.mp4", poster=place / "a.jpg")
    reason = ""
except NotAFilm as error:
    reason = error.reason
used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
print(json.dumps([reason, time.monotonic() - begun, used]))
"""


def test_each_hostile_file_ends_with_its_reason_and_leaves_nothing(of_kind, tmp_path, workplace):
    cases = films.hostile(tmp_path, of_kind["steady"][1])
    assert set(cases) == set(REASONS)
    results = tmp_path / "results"
    results.mkdir()
    for name, path in cases.items():
        with pytest.raises(NotAFilm) as looked:
            sandbox.probe(path)
        command = [sys.executable, "-c", MEASURED, str(results), str(path)]
        said = subprocess.run(command, capture_output=True, check=True).stdout
        reason, seconds, most_mb = json.loads(said)
        print(f"{name}: {seconds:.1f} s, {most_mb:.0f} MB: {reason}")
        assert looked.value.reason == reason == REASONS[name], name
        assert seconds < 30
        assert most_mb < 1024
        assert list(results.iterdir()) == list(workplace.iterdir()) == [], name
    assert children_left() == []


def test_a_play_list_that_gets_past_the_first_look_opens_nothing(of_kind, tmp_path, monkeypatch):
    from devplans.film import reading

    monkeypatch.setattr(reading, "sniff", lambda first_bytes: "mp4")
    cases = films.hostile(tmp_path, of_kind["steady"][1])
    for name in ("list.mp4", "playlist.mp4", "page.mp4", "drawing.mp4"):
        with pytest.raises(NotAFilm):
            reading.open_container(cases[name])


def test_a_film_cut_off_within_its_first_second(of_kind, tmp_path, workplace):
    _kind, path = of_kind["steady"]
    content = path.read_bytes()
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(content[: content.find(b"mdat") + 900])
    with pytest.raises(NotAFilm) as caught:
        sandbox.prepare(cut, playable=tmp_path / "a.mp4", poster=tmp_path / "a.jpg")
    assert caught.value.reason in {faults.TOO_SHORT, faults.UNREADABLE}
    assert sorted(tmp_path.iterdir()) == [cut, workplace]


def test_a_file_that_never_answers_is_given_up(tmp_path, workplace):
    endless = tmp_path / "endless.mp4"
    os.mkfifo(endless)
    with pytest.raises(NotAFilm) as caught:
        sandbox.probe(endless, limits=Limits(wall_s=1))
    assert caught.value.reason == faults.TOO_SLOW
    assert list(workplace.iterdir()) == []
    assert children_left() == []


def test_a_job_that_makes_no_progress_is_given_up(tmp_path, workplace):
    endless = tmp_path / "endless.mp4"
    os.mkfifo(endless)
    began = time.monotonic()
    with pytest.raises(NotAFilm):
        sandbox.probe(endless, limits=Limits(wall_s=60, quiet_s=0.7))
    assert time.monotonic() - began < 10


def test_a_job_can_be_stopped(tmp_path, workplace):
    made = tmp_path / "made"
    with pytest.raises(MediaError) as caught:
        sandbox.prepare(
            films.shared_film("bigbuckbunny"),
            playable=made / "a.mp4",
            poster=made / "a.jpg",
            cancelled=lambda: True,
        )
    assert caught.value.reason == faults.STOPPED
    assert not isinstance(caught.value, NotAFilm)
    assert list(made.iterdir()) == []
    assert children_left() == []


def test_a_listener_that_fails_ends_the_job(tmp_path):
    def lost(share):
        raise RuntimeError("the lease is lost")

    with pytest.raises(RuntimeError, match="lease"):
        sandbox.prepare(
            films.shared_film("bikes"),
            playable=tmp_path / "made" / "a.mp4",
            poster=tmp_path / "made" / "a.jpg",
            on_progress=lost,
        )
    assert list((tmp_path / "made").iterdir()) == []
    assert children_left() == []


def test_too_little_memory_or_room_is_an_error_with_words(of_kind, tmp_path):
    _kind, path = of_kind["steady"]
    with pytest.raises(MediaError) as caught:
        sandbox.still(path, 1_000, limits=Limits(file_mb=0))
    assert caught.value.reason == faults.NO_ROOM
    with pytest.raises(MediaError) as caught:
        sandbox.probe(path, limits=Limits(memory_mb=60))
    assert caught.value.reason


def test_what_a_killed_worker_left_is_swept(tmp_path):
    left, fresh, other = tmp_path / "film-job-a", tmp_path / "film-job-b", tmp_path / "kept"
    for folder in (left, fresh, other):
        folder.mkdir()
    for folder in (left, other):
        os.utime(folder, (1, 1))
    assert sandbox.sweep(tmp_path, older_than_s=3600) == 1
    assert sorted(tmp_path.iterdir()) == [fresh, other]


def test_sniffing_knows_films_by_their_first_bytes(numbered):
    wanted = {".mp4": "mp4", ".mov": "mov", ".webm": "webm"}
    for kind, path in numbered:
        assert sniff(path.read_bytes()[:64]) == wanted[kind.suffix], kind.name
    assert sniff(films.shared_film("bikes").read_bytes()[:64]) == "mp4"
    for other in (b"", b"ftyp", b"GIF89a", b"%PDF-1.7", b"RIFF....AVI ", b"ffconcat version 1.0\n"):
        assert sniff(other) is None
