import csv
import hashlib
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import av
import pytest
from PIL import Image, ImageChops

from portal.demo import film, hall

ROOT = Path(__file__).parents[2]
SAMPLED = [0, 20, 333, 1_200, 1_799]

pytestmark = [pytest.mark.once, pytest.mark.long]
FINGERPRINTS = """
import hashlib
from portal.demo import film
for picture in film.draw_frames(only={sampled}):
    print(hashlib.sha256(picture.tobytes()).hexdigest())
"""


@pytest.fixture(scope="module")
def rendered(tmp_path_factory):
    path = tmp_path_factory.mktemp("film") / "demo.mp4"
    started = time.process_time()
    film.render_demo_film(path)
    return path, time.process_time() - started


@pytest.fixture(scope="module")
def pictures():
    return dict(zip(SAMPLED, film.draw_frames(only=SAMPLED), strict=True))


def test_the_film_is_a_minute_and_a_half_of_h264_with_sound(rendered):
    path, _ = rendered
    with av.open(str(path)) as container:
        picture, sound = container.streams.video[0], container.streams.audio[0]
        assert picture.codec_context.name == "h264"
        assert (picture.width, picture.height) == (640, 360)
        assert picture.average_rate == film.FPS
        assert sound.codec_context.name == "aac"
        assert container.duration / 1e6 == pytest.approx(90, abs=0.2)
        times = [frame.time for frame in container.decode(picture)]
    assert len(times) == film.FRAMES
    assert times == pytest.approx([index / film.FPS for index in range(film.FRAMES)], abs=1e-6)


def test_the_sound_can_be_heard(rendered):
    with av.open(str(rendered[0])) as container:
        loudest = max(
            max(abs(frame.to_ndarray()).max() for frame in container.decode(audio=0)), 0.0
        )
    assert loudest > 0.1


def test_rendering_takes_seconds(rendered):
    assert rendered[1] < 24, "processor seconds; twice what a slow machine needs"


def test_it_is_the_same_picture_in_every_process(pictures):
    command = [sys.executable, "-c", FINGERPRINTS.format(sampled=SAMPLED)]
    elsewhere = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    here = [hashlib.sha256(pictures[index].tobytes()).hexdigest() for index in SAMPLED]
    assert elsewhere.stdout.split() == here
    assert len(set(here)) == len(SAMPLED)


def test_the_file_shows_what_was_drawn(rendered, pictures):
    with av.open(str(rendered[0])) as container:
        for index, frame in enumerate(container.decode(video=0)):
            if index in SAMPLED:
                off = ImageChops.difference(frame.to_image(), pictures[index]).convert("L")
                levels = off.histogram()
                mean = sum(level * count for level, count in enumerate(levels)) / sum(levels)
                assert mean < 4, f"frame {index}"


def test_the_clock_runs_down_and_stands_while_the_ball_is_out():
    clocks = [film.clock_at(index / film.FPS) for index in range(film.FRAMES)]
    steps = [before - after for before, after in pairwise(clocks)]
    assert all(-1e-9 <= step <= 1 / film.FPS + 1e-9 for step in steps)
    assert sum(step < 1e-9 for step in steps) / film.FPS == pytest.approx(5.9, abs=0.1)
    assert clocks[0] - clocks[-1] == pytest.approx(90 - 5.9, abs=0.1)


def test_the_clock_is_in_the_picture(pictures):
    def plate(index):
        return pictures[index].crop((14, 14, 14 + 268, 14 + 26))

    for index in SAMPLED:
        expected = hall.scoreboard(
            "HERONS", "LARKS", film.score_at(index / film.FPS), clock_text(index)
        )
        assert plate(index).tobytes() == expected.tobytes()
    assert plate(0).tobytes() != plate(20).tobytes()


def clock_text(index):
    left = int(film.clock_at(index / film.FPS))
    return f"{left // 60}:{left % 60:02d}"


def test_ten_players_stay_in_the_hall_and_the_ball_changes_ends():
    scenes = list(film.Play().scenes())
    for scene in scenes:
        assert sorted(figure.number for figure in scene.figures) == sorted(film.HOME + film.AWAY)
        assert all(abs(figure.x) < 16 and -1.5 < figure.y < 16.5 for figure in scene.figures)
        assert all(figure.speed < 9 for figure in scene.figures)
    ends = [1 if scene.ball[0] > 5 else -1 for scene in scenes if abs(scene.ball[0]) > 5]
    changes = sum(before != after for before, after in pairwise(ends))
    assert changes == 6
    assert film.score_at(90) == (34, 30)


def test_every_player_moves():
    scenes = list(film.Play().scenes())
    for place, number in enumerate(film.HOME + film.AWAY):
        run = [scene.figures[place].x for scene in scenes]
        assert max(run) - min(run) > 10, number


def test_the_moments_lie_in_the_film_and_name_home_players_and_known_skills():
    with (ROOT / "fixtures/catalogue/skills.csv").open(encoding="utf-8", newline="") as rows:
        skills = {row["slug"] for row in csv.DictReader(rows)}
    for moment in film.MOMENTS:
        assert 0 <= moment.start_ms < moment.end_ms <= film.LENGTH_S * 1_000
        assert moment.end_ms - moment.start_ms <= 10_000
        assert moment.numbers
        assert set(moment.numbers) <= set(film.HOME)
        assert moment.skill in skills
        assert moment.happens
    assert {number for moment in film.MOMENTS for number in moment.numbers} == set(film.HOME)
    assert {moment.went_well for moment in film.MOMENTS} == {True, False}


def test_names_on_the_scoreboard_can_be_chosen():
    ours = next(film.draw_frames(home="OTTERS", away="TERNS"))
    assert isinstance(ours, Image.Image)
    assert ours.tobytes() != next(film.draw_frames()).tobytes()
