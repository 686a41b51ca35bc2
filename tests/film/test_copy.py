from fractions import Fraction
from itertools import pairwise

import av
import pytest
from PIL import Image

from devplans.film import encode, sandbox, segments
from devplans.film.probe import probe
from tests.film import films

pytestmark = [pytest.mark.once, pytest.mark.long]


@pytest.fixture(scope="module")
def copies(numbered, tmp_path_factory):
    folder = tmp_path_factory.mktemp("copies")
    made = []
    for kind, path in numbered:
        copy = folder / f"{kind.name}.mp4"
        made.append((kind, path, copy, segments.make_copy(path, copy)))
    return made


def test_the_copy_keeps_every_frame_and_its_time(copies):
    for kind, _path, copy, facts in copies:
        shown = films.frames_of(copy)
        assert [number for _time, number in shown] == list(range(len(kind.times))), kind.name
        assert [time for time, _number in shown] == kind.seconds(), kind.name
        assert facts.frames == len(kind.times)


def test_the_copy_begins_at_zero_and_plays_anywhere(copies):
    for kind, _path, copy, _facts in copies:
        assert copy.read_bytes().find(b"moov") < copy.read_bytes().find(b"mdat"), kind.name
        with av.open(str(copy)) as container:
            video = container.streams.video[0]
            assert video.codec_context.name == "h264"
            assert video.codec_context.profile == "High"
            assert video.codec_context.pix_fmt == "yuv420p"
            assert (video.width, video.height) == kind.size
            assert video.start_time == 0
            assert [s.codec_context.name for s in container.streams.audio] == ["aac"] * kind.sound
            packets = [p for p in container.demux(video) if p.size]
            assert all(packet.dts == packet.pts for packet in packets)
            keys = [float(p.pts * p.time_base) for p in packets if p.is_keyframe]
            gaps = [after - before for before, after in pairwise(keys)]
            assert max(gaps, default=0) < 2.2, kind.name


def test_the_copys_own_facts_agree_with_the_originals(copies):
    for kind, path, copy, facts in copies:
        first_look = probe(path)
        assert first_look == facts, kind.name
        again = probe(copy)
        assert (again.width, again.height, again.rotation) == (*kind.size, 0)
        assert abs(again.duration_ms - facts.duration_ms) <= 40, kind.name
        assert facts.problem == "" == again.problem


def test_sound_stays_with_its_picture(copies):
    heard = 0
    for kind, path, copy, _facts in copies:
        if kind.sound:
            expected = [time for time in films.beeps_in(path) if time > 0.2]
            found = [time for time in films.beeps_in(copy) if time > 0.2]
            assert len(found) == len(expected) >= 3, kind.name
            assert max(abs(a - b) for a, b in zip(found, expected, strict=True)) < 0.03
            heard += 1
    assert heard == 3


def test_above_sixty_a_second_every_second_frame_is_kept(tmp_path):
    kind = films.fast_kind()
    path = films.write(tmp_path, kind)
    facts = segments.make_copy(path, tmp_path / "copy.mp4")
    shown = films.frames_of(tmp_path / "copy.mp4")
    assert [number for _time, number in shown] == list(range(0, 240, 2))
    assert [time for time, _number in shown] == kind.seconds()[::2]
    assert (facts.frames, facts.duration_ms) == (240, 2000)


def test_a_large_picture_becomes_720_lines_in_its_own_shape(tmp_path):
    for size, wanted in [
        ((1920, 1080), (1280, 720)),
        ((1080, 1920), (720, 1280)),
        ((1000, 750), (960, 720)),
        ((161, 97), (160, 96)),
        ((3840, 800), (1280, 266)),
    ]:
        assert encode.fitted(size, long_side=1280, short_side=720) == wanted


def test_a_film_that_is_cut_off_is_kept_as_far_as_it_can_be_read(of_kind, tmp_path):
    kind, path = of_kind["broadcast"]
    cut = tmp_path / "cut.mp4"
    cut.write_bytes(path.read_bytes()[: path.stat().st_size * 2 // 3])
    readable = films.frames_of(cut)
    assert 31 <= len(readable) < len(kind.times) - 30
    facts = segments.make_copy(cut, tmp_path / "copy.mp4")
    assert films.frames_of(tmp_path / "copy.mp4") == readable
    end = readable[-1][0] + Fraction(1001, 30_000)
    assert facts.duration_ms == round(end * 1000) == probe(cut).duration_ms
    assert facts.announced_ms == 6006
    assert "ends early" in facts.problem
    assert facts.problem == probe(cut).problem


def test_bytes_spoiled_in_the_middle_cost_no_more_than_what_they_spoil(of_kind, tmp_path):
    kind, path = of_kind["steady"]
    content = bytearray(path.read_bytes())
    middle = len(content) * 2 // 3
    content[middle : middle + 40] = bytes(40)
    spoiled = tmp_path / "spoiled.mp4"
    spoiled.write_bytes(content)
    facts = segments.make_copy(spoiled, tmp_path / "copy.mp4")
    assert facts.frames > len(kind.times) * 2 // 3


@pytest.mark.parametrize("name", ["bikes", "bigbuckbunny"])
def test_a_film_that_none_of_us_made(name, tmp_path, workplace):
    source, heard = films.shared_film(name), []
    facts = sandbox.prepare(
        source,
        playable=tmp_path / "playable.mp4",
        poster=tmp_path / "poster.jpg",
        on_progress=heard.append,
    )
    assert facts == probe(source)
    assert facts.has_audio is (name == "bigbuckbunny")
    with av.open(str(source)) as one, av.open(str(tmp_path / "playable.mp4")) as two:
        wanted = sorted(p.pts * p.time_base for p in one.demux(video=0) if p.size)
        found = [p.pts * p.time_base for p in two.demux(video=0) if p.size]
    assert found == wanted
    with Image.open(tmp_path / "poster.jpg") as picture:
        assert picture.format == "JPEG"
        assert max(picture.size) <= 960
    assert heard == sorted(heard)
    assert heard[-1] == 1
    assert all(0 <= share <= 1 for share in heard)
    assert list(workplace.iterdir()) == []
    assert len(list(tmp_path.iterdir())) == 3
