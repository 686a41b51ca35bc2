"""A copy made in pieces: killed workers, spoiled pieces, several files, short memory."""

import os
import signal
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from devplans.film import child, faults, parts, sandbox, segments, shelf
from devplans.film.faults import NotAFilm, OutOfMemory
from devplans.film.probe import probe
from tests.film import films
from tests.film.films import Kind, steady

pytestmark = [pytest.mark.once, pytest.mark.long]

B_FRAMES = {"bf": "3", "g": "60", "preset": "ultrafast"}
WORKER = """
import sys
from pathlib import Path
from devplans.film import sandbox
place, source = Path(sys.argv[1]), sys.argv[2]
sandbox.prepare(source, playable=place / "work" / "a.mp4", poster=place / "work" / "a.jpg",
                shelf=place / "shelf", segment_s=3)
"""


@pytest.fixture(scope="module")
def long_film(tmp_path_factory):
    """Forty seconds that take some seconds to encode."""
    kind = Kind(
        "long", steady(1000), Fraction(1, 25), options=B_FRAMES, size=(640, 384), sound=True
    )
    return kind, films.write(tmp_path_factory.mktemp("long"), kind)


def kept_on(place: Path) -> list[str]:
    return sorted(path.name for path in place.glob("*.mp4"))


def jobs_on(source: Path) -> list[int]:
    """Children that work on this file, whoever started them."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if str(source).encode() in (command := (entry / "cmdline").read_bytes()):
                found += [int(entry.name)] if b"media_job" in command else []
        except (FileNotFoundError, ProcessLookupError):
            continue
    return found


def wait_for(condition, most_s: float = 30.0) -> None:
    end = time.monotonic() + most_s
    while not condition():
        assert time.monotonic() < end
        time.sleep(0.02)


def made(source, place: Path, **options):
    """Prepare on the shelf in `place`; the facts, and how many pieces this call encoded."""
    pieces = []
    facts = sandbox.prepare(
        source,
        playable=place / "a.mp4",
        poster=place / "a.jpg",
        shelf=place / "shelf",
        on_segment=lambda: pieces.append(1),
        **{"segment_s": 3, **options},
    )
    return facts, len(pieces)


def test_a_worker_killed_in_mid_film_does_not_encode_its_pieces_again(long_film, tmp_path):
    kind, path = long_film
    worker = subprocess.Popen([sys.executable, "-c", WORKER, str(tmp_path), str(path)])
    plan = sandbox._plan([path], 3)

    def listed() -> list[str]:
        found = shelf.Shelf.opened(tmp_path / "shelf", plan, checked=False).segments
        return [segment.name for segment in found]

    wait_for(lambda: len(listed()) >= 3)
    worker.send_signal(signal.SIGKILL)
    worker.wait()
    wait_for(lambda: jobs_on(path) == [], 5)
    kept = {name: (tmp_path / "shelf" / name).stat() for name in listed()}
    before = len(kept)
    assert 3 <= before < 14
    facts, encoded = made(path, tmp_path)
    print(f"{before} of 14 pieces were kept, {encoded} encoded after the kill")
    assert before + encoded == 14
    for name, old in kept.items():
        now = (tmp_path / "shelf" / name).stat()
        assert (now.st_ino, now.st_mtime_ns) == (old.st_ino, old.st_mtime_ns), name
    shown = films.frames_of(tmp_path / "a.mp4")
    assert [number for _time, number in shown] == list(range(1000))
    assert [time for time, _number in shown] == kind.seconds()
    assert facts == probe(path)
    expected = [tone for tone in films.beeps_in(path) if tone < 39.95]
    found = films.beeps_in(tmp_path / "a.mp4")
    assert len(found) == len(expected) == 40
    assert max(abs(a - b) for a, b in zip(found, expected, strict=True)) < 0.003


@pytest.mark.parametrize("name", ["broadcast", "irregular", "late", "phone", "web", "pieces"])
def test_stopped_after_each_piece_it_is_the_same_film(of_kind, tmp_path, name):
    kind, path = of_kind[name]

    class Stop(Exception):
        pass

    def stop():
        raise Stop

    for _piece in range(20):
        try:
            facts = sandbox.prepare(
                path, playable=tmp_path / "a.mp4", poster=tmp_path / "a.jpg",
                shelf=tmp_path / "shelf", on_segment=stop, segment_s=1.7,
            )  # fmt: skip
            break
        except Stop:
            continue
    assert len(kept_on(tmp_path / "shelf")) > 2
    shown = films.frames_of(tmp_path / "a.mp4")
    assert [number for _time, number in shown] == list(range(len(kind.times)))
    assert [time for time, _number in shown] == kind.seconds()
    assert facts == probe(path)


def test_every_second_frame_is_kept_across_pieces_too(tmp_path):
    kind = films.fast_kind()
    path = films.write(tmp_path, kind)
    facts = segments.make_copy(path, tmp_path / "copy.mp4", segment_s=0.37)
    shown = films.frames_of(tmp_path / "copy.mp4")
    assert [number for _time, number in shown] == list(range(0, 240, 2))
    assert [time for time, _number in shown] == kind.seconds()[::2]
    assert facts.frames == 240


def test_a_spoiled_piece_and_those_behind_it_are_made_again(of_kind, tmp_path):
    _kind, path = of_kind["broadcast"]
    assert made(path, tmp_path, segment_s=1)[1] == 6
    spoiled = tmp_path / "shelf" / "00-00004.mp4"
    content = bytearray(spoiled.read_bytes())
    content[-5] ^= 1
    spoiled.write_bytes(content)
    assert made(path, tmp_path, segment_s=1)[1] == 2
    assert [number for _time, number in films.frames_of(tmp_path / "a.mp4")] == list(range(180))
    assert made(path, tmp_path, segment_s=1)[1] == 0
    assert made(path, tmp_path, segment_s=2)[1] == 3, "pieces of another length are of no use"
    (tmp_path / "shelf" / shelf.MANIFEST).write_text("{")
    assert made(path, tmp_path, segment_s=2)[1] == 3


def test_a_film_that_is_cut_off_is_kept_in_pieces_as_far_as_it_can_be_read(of_kind, tmp_path):
    _kind, path = of_kind["broadcast"]
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(path.read_bytes()[: path.stat().st_size * 2 // 3])
    readable = films.frames_of(cut)
    facts, pieces = made(cut, tmp_path, segment_s=1)
    assert films.frames_of(tmp_path / "a.mp4") == readable
    assert pieces == len(readable) // 30 + 1
    assert "ends early" in facts.problem


def killing(monkeypatch, matters):
    """The kernel's way with a child that `matters(arguments)` names."""
    real, killed = child.subprocess.Popen, []

    def start(arguments, **options):
        started = real(arguments, **options)
        if matters(arguments):
            os.kill(started.pid, signal.SIGKILL)
            killed.append(arguments)
        return started

    monkeypatch.setattr(child.subprocess, "Popen", start)
    return killed


def test_killed_for_memory_it_goes_on_with_less(of_kind, tmp_path, monkeypatch):
    _kind, path = of_kind["steady"]
    killed = killing(monkeypatch, lambda arguments: "threads=0" in arguments)
    made(path, tmp_path)
    assert len(killed) == 1
    assert len(films.frames_of(tmp_path / "a.mp4")) == 150


def test_killed_for_memory_again_the_film_is_not_at_fault(of_kind, tmp_path, monkeypatch):
    _kind, path = of_kind["steady"]
    killed = killing(monkeypatch, lambda arguments: "copy" in arguments)
    with pytest.raises(OutOfMemory) as caught:
        made(path, tmp_path)
    assert caught.value.reason == faults.OUT_OF_MEMORY
    assert not isinstance(caught.value, NotAFilm)
    assert len(killed) == 2


def test_who_uses_up_the_processor_is_not_taken_for_one_out_of_memory(tmp_path):
    path = films.write(tmp_path, Kind("busy", steady(900), Fraction(1, 30), size=(640, 384)))
    with pytest.raises(NotAFilm) as caught:
        made(path, tmp_path, limits=sandbox.Limits(cpu_s=1))
    assert caught.value.reason == faults.TOO_SLOW


def in_halves(folder: Path) -> list[tuple[Kind, Path]]:
    """Three files that agree in nothing but the numbering of their frames."""
    kinds = [
        Kind("one", steady(90), Fraction(1, 30), options=B_FRAMES, sound=True),
        Kind("two", films.irregular(80, least=20, most=60, seed=3, first=70), Fraction(1, 1000),
             options=B_FRAMES),
        Kind("three", steady(60, 512, 24_000), Fraction(1, 15_360), options=B_FRAMES, turns=1,
             suffix=".mov", sound=True, size=(96, 160)),
    ]  # fmt: skip
    return [(kind, films.write(folder, kind)) for kind in kinds]


def test_several_files_become_one_film(tmp_path):
    pairs = in_halves(tmp_path)
    sources = [path for _kind, path in pairs]
    facts, _pieces = made(sources, tmp_path, segment_s=1.3)
    kept = sandbox.kept_parts(tmp_path / "shelf", sources, segment_s=1.3)
    lengths = [part.length_ms for part in kept]
    starts = parts.starts(lengths)
    assert [part.start_ms for part in kept] == starts
    assert facts.frames == 230
    assert facts.duration_ms == starts[2] + probe(sources[2]).duration_ms
    assert facts.has_audio
    assert (facts.width, facts.height) == films.UPRIGHT
    wanted = [
        (Fraction(start, 1000) + time, number)
        for start, (kind, _path) in zip(starts, pairs, strict=True)
        for number, time in enumerate(kind.seconds())
    ]
    times = [time for time, _picture in pictures_of(tmp_path / "a.mp4")]
    assert times == [time for time, _number in wanted]
    # The third stands upright in the middle of the first one's shape.
    numbers = [
        films.number_on(picture if index < 170 else middle_of(picture))
        for index, (_time, picture) in enumerate(pictures_of(tmp_path / "a.mp4"))
    ]
    assert numbers == [number for _time, number in wanted]


def pictures_of(path: Path) -> list[tuple[Fraction, Image.Image]]:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        return [
            (frame.pts * stream.time_base, frame.to_image()) for frame in container.decode(stream)
        ]


def middle_of(picture: Image.Image) -> Image.Image:
    pixels = np.asarray(picture.convert("L"))
    width = 96 * 96 // 160 // 2 * 2
    left = (picture.width - width) // 2
    assert pixels[:, : left - 4].max() < 32
    assert pixels[:, left + width + 4 :].max() < 32
    return picture.crop((left, 0, left + width, picture.height))


def test_the_sound_of_each_file_stays_with_its_picture(tmp_path):
    pairs = in_halves(tmp_path)
    sources = [path for _kind, path in pairs]
    made(sources, tmp_path)
    starts = [
        part.start_ms / 1000
        for part in sandbox.kept_parts(tmp_path / "shelf", sources, segment_s=3)
    ]
    first = [tone for tone in films.beeps_in(sources[0]) if tone < 2.95]
    third = [starts[2] + tone for tone in films.beeps_in(sources[2]) if 0.1 < tone < 1.95]
    found = films.beeps_in(tmp_path / "a.mp4")
    expected = [*first, *third]
    assert [tone for tone in found if starts[1] + 0.1 < tone < starts[2]] == []
    assert max(min(abs(tone - other) for other in found) for tone in expected) < 0.005


def test_times_of_a_film_lie_in_one_of_its_files():
    lengths = [3000, 2500, 1000]
    assert parts.starts(lengths) == [0, 3000, 5500]
    for ms, place in [
        (0, (0, 0)), (2999, (0, 2999)), (3000, (1, 0)), (5499, (1, 2499)), (5500, (2, 0)),
        (9000, (2, 3500)),
    ]:  # fmt: skip
        assert parts.locate(lengths, ms) == place
    assert parts.locate([None], 7) == (0, 7)
    assert parts.locate([], 7) == (0, 7)
    assert parts.locate([3000, None, 10], 99_000) == (1, 96_000)
