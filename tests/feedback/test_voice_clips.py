"""The clip with the coach's voice, looked at and listened to: a film that flashes, a voice that
beeps each second, and a talk that stops, rewinds, slows down, jumps and draws."""

import io
import time
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
from django.core.files.storage import default_storage
from PIL import Image

from devplans.core import render
from devplans.feedback import cutting, services
from devplans.feedback.drawings import svg
from devplans.feedback.models import Clip
from devplans.feedback.voices import strokes
from devplans.feedback.voices.log import read_log
from devplans.feedback.voices.services import keep_voice
from devplans.film import playback, sandbox
from devplans.film.faults import MediaError, NotAFilm
from tests import factories as make
from tests.film import films, talks
from tests.film.conftest import workplace  # noqa: F401

pytestmark = pytest.mark.once
TOLERANCE_S = 0.08
LINE = {"kind": "line", "points": [[0.1, 0.55], [0.9, 0.55]], "colour": "chalk", "stroke": "heavy"}
FREE = {
    "kind": "freehand", "colour": "chalk", "stroke": "heavy",
    "points": [[0.1, 0.8], [0.3, 0.8], [0.5, 0.8], [0.7, 0.8], [0.9, 0.8]],
}  # fmt: skip
# In the time of the whole recording. The film is 14 s long.
TALK = [
    {"at": 0, "film_ms": 1_200, "rate": 1},
    {"at": 3_600, "film_ms": 4_800, "rate": 0},
    {"at": 4_000, "until": 4_500, "shape": LINE},
    {"at": 5_000, "until": 6_200, "shape": FREE},
    {"at": 6_900, "clear": True},
    {"at": 6_900, "film_ms": 2_500, "rate": 0.5},
    {"at": 9_300, "film_ms": 3_700, "rate": 1},
    {"at": 10_700, "film_ms": 9_600, "rate": 1},
    {"at": 12_100, "film_ms": 11_000, "rate": 0},
    {"at": 12_400, "film_ms": 500, "rate": 0},
    {"at": 12_800, "film_ms": 500, "rate": 1},
]
FROM, UNTIL = 1_500, 14_000


@pytest.fixture(scope="module")
def flashing(tmp_path_factory):
    return talks.write_film(tmp_path_factory.mktemp("film") / "film.mp4", 14)


@pytest.fixture
def filmed(room, flashing):
    with flashing.open("rb") as file:
        key = default_storage.save("films/flashing/playable.mp4", file)
    room.film.original_key = room.film.playable_key = key
    room.film.duration_ms, room.film.width, room.film.height = 14_000, *talks.SIZE
    room.film.save()
    return room


def recorded(tmp_path, kind="webm", seconds=16.0):
    path = talks.write_voice(tmp_path / f"voice.{kind}", seconds)
    with path.open("rb") as file:
        return default_storage.save(f"talk/{path.name}", file)


def clip_of(room, tmp_path, key, **changes):
    comment = make.make_comment(room.film, room.coach, [room.kid], skill=room.skill)
    given = {"start_ms": FROM, "end_ms": UNTIL, "log": TALK, "cues": [[0, 900, "Look here."]]}
    keep_voice(actor=room.coach, comment=comment, source_key=key, **(given | changes))
    services.send_comments(actor=room.coach, comments=[comment])
    clip = Clip.objects.get(comment=comment)
    assert cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    return clip


def on_disk(clip) -> Path:
    return Path(default_storage.path(clip.video_key))


def flashing_from(log, length_ms) -> list[float]:
    """Seconds of the sound at which a flash comes on screen, to the millisecond."""
    lit = [log.film_at(ms) % 1000 < 100 for ms in range(length_ms)]
    return [ms / 1000 for ms in range(1, length_ms) if lit[ms] and not lit[ms - 1]]


def of_screen(seen) -> list[float]:
    return [
        one.start for before, one in pairwise(seen)
        if one.flashes and not before.flashes
    ]  # fmt: skip


def look_and_listen(clip, report) -> None:
    log = read_log(TALK).cut(FROM, UNTIL)
    path = on_disk(clip)
    seen, beeps = talks.seen_in(path), talks.beeps_in(path)
    wanted = [second - FROM / 1000 for second in range(2, 14)]
    assert len(beeps) == len(wanted)
    report["beeps"] = max(abs(a - b) for a, b in zip(beeps, wanted, strict=True))
    # What was on screen when the coach heard himself say it is on screen when it is heard.
    report["film at beeps"] = max(
        abs(talks.at(seen, beep).number / talks.FPS - log.film_at(round(second * 1000)) / 1000)
        for beep, second in zip(beeps, wanted, strict=True)
    )
    flashes = flashing_from(log, UNTIL - FROM)
    assert len(of_screen(seen)) == len(flashes) >= 7
    report["flashes"] = max(abs(a - b) for a, b in zip(of_screen(seen), flashes, strict=True))
    assert max(report.values()) <= TOLERANCE_S, report


def test_sound_and_picture_go_together_and_strokes_with_the_words(filmed, tmp_path):
    clip = clip_of(filmed, tmp_path, recorded(tmp_path))
    assert (clip.state, clip.voiced, clip.problem) == ("ready", True, "")
    assert (clip.start_ms, clip.end_ms) == (500, 11_000)
    report: dict[str, float] = {}
    look_and_listen(clip, report)
    path = on_disk(clip)
    with av.open(str(path)) as container:
        video, audio = container.streams.video[0], container.streams.audio[0]
        assert (video.codec_context.name, audio.codec_context.name) == ("h264", "aac")
        assert (video.width, video.height) == talks.SIZE
        assert abs(video.duration * video.time_base - 12.5) < 0.05
        assert abs(audio.duration * audio.time_base - 12.5) < 0.05
    # The index lies in front, so that it plays before all of it is there.
    start = path.read_bytes()[:4096]
    assert start.find(b"moov") < start.find(b"mdat") or b"mdat" not in start
    strokes_come_and_go(talks.seen_in(path))


def strokes_come_and_go(seen) -> None:
    width, height = talks.SIZE
    frame_s = 1 / talks.FPS

    def lit(one, x, y):
        row, column = int(y * height), int(x * width)
        return one.luma[row - 1 : row + 2, column - 1 : column + 2].mean() > 170

    def first(x, y):
        return next(one.start for one in seen if lit(one, x, y))

    def last(x, y):
        return [one.start for one in seen if lit(one, x, y)][-1] + frame_s

    slack = frame_s + strokes.GROWS_EVERY_MS / 1000
    # A line stands there when it was finished; a freehand one grows with its time.
    assert abs(first(0.5, 0.55) - (4.5 - 1.5)) <= slack
    for x, share in ((0.2, 0.125), (0.5, 0.5), (0.8, 0.875)):
        assert abs(first(x, 0.8) - (5.0 + 1.2 * share - 1.5)) <= slack
    for place in ((0.5, 0.55), (0.2, 0.8), (0.8, 0.8)):
        assert abs(last(*place) - (6.9 - 1.5)) <= slack
    # In full they are what the same drawing is anywhere else, and nothing else was touched.
    drawn = svg.drawn([LINE, FREE], width=width, height=height)
    layer = Image.open(io.BytesIO(render.png(drawn, width=width, height=height)))
    ink = np.asarray(layer.convert("RGBA"))
    now = talks.at(seen, 4.9).luma
    bright = (ink[..., 3] == 255) & (ink[..., :3].min(axis=-1) > 180)
    bare = np.zeros(bright.shape, bool)
    bare[90:] = True
    near = np.asarray(layer.getchannel("A").resize(layer.size)) > 0
    for shift in (-4, 4):
        near |= np.roll(near, shift, axis=0) | np.roll(near, shift, axis=1)
    assert bright.sum() > 500
    assert np.percentile(now[bright], 5) > 170
    assert np.abs(now[bare & ~near] - talks.GROUND).max() < 25


@pytest.mark.soak
@pytest.mark.parametrize("kind", ["wav", "mp4", "ogg"])
def test_other_recordings_go_together_as_well(filmed, tmp_path, kind):
    report: dict[str, float] = {}
    look_and_listen(clip_of(filmed, tmp_path, recorded(tmp_path, kind)), report)


@pytest.mark.parametrize("kind", ["webm", "wav", "mp4", "ogg"])
def test_a_stretch_of_any_recording_is_cut_where_it_lies(tmp_path, kind, workplace):  # noqa: F811
    path = talks.write_voice(tmp_path / f"voice.{kind}", 5.5)
    out = tmp_path / "out.m4a"
    assert sandbox.cut_voice(path, out, start_ms=1_700, end_ms=4_300) == 2_600
    with av.open(str(out)) as container:
        stream = container.streams.audio[0]
        context = stream.codec_context
        assert (context.name, context.rate, context.channels) == ("aac", 48_000, 1)
    found = talks.beeps_in(out)
    assert len(found) == 3
    assert max(abs(a - b) for a, b in zip(found, (0.3, 1.3, 2.3), strict=True)) < 0.03
    assert out.stat().st_size < 60_000
    # What goes past the end of the recording ends there.
    assert abs(sandbox.cut_voice(path, out, start_ms=4_500, end_ms=9_000) - 1_000) < 60
    with pytest.raises(NotAFilm, match="no sound in that stretch"):
        sandbox.cut_voice(path, out, start_ms=7_000, end_ms=9_000)
    assert list(workplace.iterdir()) == []


def test_what_is_no_recording_says_so(tmp_path, flashing):
    files = films.hostile(tmp_path, flashing)
    for name in ("empty.mp4", "random.mp4", "page.mp4", "list.mp4", "playlist.mp4", "noise.mp4"):
        with pytest.raises(MediaError):
            sandbox.cut_voice(files[name], tmp_path / "out.m4a", start_ms=0, end_ms=900)
    with pytest.raises(NotAFilm):
        sandbox.cut_voice(flashing, tmp_path / "out.m4a", start_ms=0, end_ms=900)
    assert not (tmp_path / "out.m4a").exists()


@pytest.mark.parametrize("name", ["irregular", "portrait", "phone", "broadcast", "web", "pieces"])
def test_any_film_shows_the_very_frame_of_its_time(tmp_path, name):
    kind = next(one for one in films.kinds() if one.name == name)
    path = films.write(tmp_path, kind)
    voice = tmp_path / "voice.m4a"
    talks.write_voice(tmp_path / "voice.wav", 2.5)
    sandbox.cut_voice(tmp_path / "voice.wav", voice, start_ms=0, end_ms=2_000)
    course = [(0, 700, 1.0), (500, 1_200, 0.0), (700, 300, 0.5), (1_300, 1_900, 2.0)]
    out = tmp_path / "out.mp4"
    playback.play_back(path, out, sound=voice, stretches=course, length_ms=2_000)
    where = playback.Course(course)
    shown = films.frames_of(out)
    step = shown[1][0]
    assert Fraction(1, 31) < step <= Fraction(1, 25)
    for start, number in shown:
        film_s = where.film_s(start + step / 2)
        wanted = max(n for n, second in enumerate(kind.seconds()) if second <= film_s)
        assert number == wanted, (start, film_s)


@pytest.mark.parametrize(
    ("film", "clip"),
    [(60, 30), (50, 25), (120, 30), (25, 25), (12, 25), (24, 25), (30, 30), (29.97, 29.97)],
)
def test_frames_a_second(film, clip):
    assert float(playback.frame_rate(Fraction(film))) == pytest.approx(clip, abs=0.001)


@pytest.mark.soak
def test_a_minute_at_full_size_takes_a_time_that_can_be_waited_for(tmp_path):
    film = talks.write_film(tmp_path / "film.mp4", 60, size=(1280, 720))
    sandbox.cut_voice(
        talks.write_voice(tmp_path / "v.webm", 61), tmp_path / "v.m4a", start_ms=0, end_ms=60_000
    )
    rows = [{"at": 0, "film_ms": 2_000, "rate": 1}]
    for number in range(1, 20):
        at = number * 3_000
        rows.append(
            {"at": at, "film_ms": (number * 7_000) % 50_000, "rate": (1, 0, 0.5)[number % 3]}
        )
        rows.append({"at": at + 500, "until": at + 1_500, "shape": FREE})
        rows.append({"at": at + 2_900, "clear": True})
    log = read_log(rows)
    layers = [
        (
            at,
            svg.drawn(shapes, width=1280, height=720) if shapes else "",
            strokes.box_around(shapes),
        )
        for at, shapes in strokes.changes(log, 60_000)
    ]
    begun = time.monotonic()
    sandbox.play_back(
        film, tmp_path / "out.mp4", sound=tmp_path / "v.m4a", layers=layers, length_ms=60_000,
        stretches=[(one.at_ms, one.film_ms, one.rate) for one in log.stretches],
    )  # fmt: skip
    took = time.monotonic() - begun
    print(f"a minute at 720p: {took:.1f} s")
    assert took < 150
