import io
import os
from math import ceil
from pathlib import Path
from random import Random

import pytest
from PIL import Image

from devplans.film import sandbox, stills
from devplans.film.faults import NotAFilm
from devplans.film.nursery import nursery
from devplans.film.reading import FilmReader
from tests.film import films

pytestmark = pytest.mark.once


def picture_at(path, ms):
    return Image.open(io.BytesIO(stills.still(path, ms)))


def test_two_hundred_stills_show_the_frame_on_screen(numbered):
    chance, asked, wrong = Random(11), 0, []
    for kind, path in numbered:
        length_ms = int(kind.seconds()[-1] * 1000)
        for ms in (chance.randint(0, length_ms) for _ in range(25)):
            asked += 1
            found = films.number_on(picture_at(path, ms))
            if found != kind.on_screen(ms):
                wrong.append((kind.name, ms, found, kind.on_screen(ms)))
    assert asked >= 200
    assert wrong == []


def test_a_frames_time_rounded_up_gives_that_frame(numbered):
    chance = Random(12)
    for kind, path in numbered:
        for number in chance.sample(range(len(kind.times)), 6):
            ms = ceil(kind.seconds()[number] * 1000)
            assert films.number_on(picture_at(path, ms)) == number, (kind.name, number)


def test_every_frame_of_a_film_with_irregular_times(of_kind):
    kind, path = of_kind["irregular"]
    with FilmReader(path) as film:
        for number, time in enumerate(kind.seconds()):
            frame = stills.frame_at(film, film.pts_at(ceil(time * 1000)))
            assert films.number_on(frame.to_image()) == number


def test_a_still_is_upright_and_of_the_films_own_size(numbered):
    for kind, path in numbered:
        assert picture_at(path, 1000).size == kind.size, kind.name


def test_before_the_first_frame_and_past_the_end(numbered):
    for kind, path in numbered:
        assert films.number_on(picture_at(path, 0)) == 0
        for ms in (60_000, 2**31):
            assert films.number_on(picture_at(path, ms)) == len(kind.times) - 1, kind.name


def test_past_the_end_of_a_film_that_is_cut_off(of_kind, tmp_path):
    kind, path = of_kind["steady"]
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
    last = films.frames_of(cut)[-1][1]
    assert 30 < last < len(kind.times) - 1
    assert films.number_on(picture_at(cut, 4_900)) == last


def test_a_still_by_a_child_process(of_kind, workplace):
    kind, path = of_kind["phone"]
    picture = Image.open(io.BytesIO(sandbox.still(path, 2_345)))
    assert picture.format == "JPEG"
    assert films.number_on(picture) == kind.on_screen(2_345)
    assert list(workplace.iterdir()) == []


def test_stills_are_forked_of_one_process_and_each_fork_goes_away(of_kind, workplace):
    kind, path = of_kind["steady"]
    for ms in (0, 1_500, 3_210):
        picture = Image.open(io.BytesIO(sandbox.still(path, ms)))
        assert films.number_on(picture) == kind.on_screen(ms)
    first = nursery._process
    assert first.poll() is None
    forks = Path(f"/proc/{first.pid}/task/{first.pid}/children")
    assert forks.read_text() == ""
    first.kill()
    first.wait()
    assert sandbox.still(path, 1_500)[:2] == b"\xff\xd8", "another one is started"
    assert nursery._process is not first
    assert list(workplace.iterdir()) == []


def test_a_hostile_file_ends_its_fork_alone(of_kind, tmp_path):
    _kind, path = of_kind["steady"]
    sandbox.still(path, 0)
    waiting = nursery._process
    cases = films.hostile(tmp_path, path)
    for name in ("bomb-64", "noise.mp4", "playlist.mp4"):
        with pytest.raises(NotAFilm):
            sandbox.still(cases[name], 0)
    endless = tmp_path / "endless.mp4"
    os.mkfifo(endless)
    with pytest.raises(NotAFilm):
        sandbox.still(endless, 0, limits=sandbox.Limits(wall_s=1))
    assert sandbox.still(path, 0)[:2] == b"\xff\xd8"
    assert nursery._process is waiting
