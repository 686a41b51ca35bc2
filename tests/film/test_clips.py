from fractions import Fraction
from random import Random

import av
import pytest

from devplans.film import encode, sandbox, segments
from tests.film import films

pytestmark = pytest.mark.once


def expected(kind, start_ms, end_ms):
    chosen = [
        (time, number)
        for number, time in enumerate(kind.seconds())
        if Fraction(start_ms, 1000) <= time < Fraction(end_ms, 1000)
    ]
    return [(time - chosen[0][0], number) for time, number in chosen]


def test_a_clip_holds_the_frames_of_its_span_and_no_other(numbered, tmp_path):
    chance = Random(21)
    for kind, path in numbered:
        length_ms = int(kind.seconds()[-1] * 1000)
        start = chance.randint(0, length_ms - 1_200)
        end = start + chance.randint(400, 1_100)
        out = tmp_path / f"{kind.name}.mp4"
        encode.cut_clip(path, out, start_ms=start, end_ms=end)
        assert films.frames_of(out) == expected(kind, start, end), (kind.name, start, end)
        with av.open(str(out)) as container:
            assert container.streams.video[0].start_time == 0


def test_the_clip_of_the_copy_is_the_clip_of_the_original(of_kind, tmp_path):
    kind, path = of_kind["late"]
    segments.make_copy(path, tmp_path / "copy.mp4")
    for name, source in (("a.mp4", path), ("b.mp4", tmp_path / "copy.mp4")):
        encode.cut_clip(source, tmp_path / name, start_ms=1_000, end_ms=2_500)
        assert films.frames_of(tmp_path / name) == expected(kind, 1_000, 2_500)


def test_a_clips_sound_is_the_sound_of_its_span(of_kind, tmp_path):
    _kind, path = of_kind["late"]
    tones = films.beeps_in(path)
    encode.cut_clip(path, tmp_path / "clip.mp4", start_ms=700, end_ms=3_300)
    found = films.beeps_in(tmp_path / "clip.mp4")
    # 22 frames of 30 a second lie before the first one kept.
    wanted = [tone - 21 / 30 for tone in tones if 0.8 < tone < 3.2]
    assert len(found) == len(wanted) == 2
    assert max(abs(a - b) for a, b in zip(found, wanted, strict=True)) < 0.03


def test_a_clip_is_at_most_thirty_seconds(tmp_path, workplace):
    slow = films.Kind("slow", films.steady(90), Fraction(1, 2), options={"bf": "2", "g": "20"})
    path = films.write(tmp_path, slow)
    length = sandbox.cut_clip(path, tmp_path / "clip.mp4", start_ms=2_000, end_ms=44_000)
    assert length == 30_000
    shown = films.frames_of(tmp_path / "clip.mp4")
    assert [number for _time, number in shown] == list(range(4, 64))
    assert list(workplace.iterdir()) == []


def test_a_span_between_two_frames_shows_the_one_on_screen(tmp_path):
    slow = films.Kind("slow", films.steady(10), Fraction(1, 2), options={"bf": "2"})
    path = films.write(tmp_path, slow)
    encode.cut_clip(path, tmp_path / "clip.mp4", start_ms=2_100, end_ms=2_400)
    assert films.frames_of(tmp_path / "clip.mp4") == [(0, 4)]
    encode.cut_clip(path, tmp_path / "last.mp4", start_ms=9_000, end_ms=9_900)
    assert films.frames_of(tmp_path / "last.mp4") == [(0, 9)]
