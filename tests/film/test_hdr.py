import io
import tempfile

import av
import pytest
from PIL import Image

from devplans.film import hdr, segments, stills
from devplans.film.probe import probe
from tests.film import films

pytestmark = pytest.mark.once


def level(share):
    """A luma code of 10 bits for a share of white."""
    return round(64 + 876 * share)


def colour_at(path, ms=1000):
    return Image.open(io.BytesIO(stills.still(path, ms))).getpixel((80, 48))


def test_grey_of_an_hlg_camera_stays_the_grey_it_is(tmp_path):
    for share in (0.0, 0.38, 0.75, 1.0):
        path = films.hdr_film(tmp_path, (level(share), 512, 512), curve="arib-std-b67")
        assert probe(path).hdr
        for value in colour_at(path):
            assert abs(value - 255 * share) <= 4, share


def test_wide_colours_are_not_washed_out(tmp_path):
    # A red of BT.709 as an HLG camera writes it; read as BT.709 it would be 174, 85, 53.
    luma, blue, red = 0.2627 * 0.72 + 0.678 * 0.36 + 0.0593 * 0.24, 0.24, 0.72
    signal = (
        level(luma),
        round(512 + 896 * (blue - luma) / 1.8814),
        round(512 + 896 * (red - luma) / 1.4746),
    )
    shown = colour_at(films.hdr_film(tmp_path, signal, curve="arib-std-b67"))
    light = [share**2.4 for share in (0.72, 0.36, 0.24)]
    wanted = [
        255 * max(0.0, sum(a * b for a, b in zip(row, light, strict=True))) ** (1 / 2.4)
        for row in [
            (1.6605, -0.5876, -0.0728),
            (-0.1246, 1.1329, -0.0083),
            (-0.0182, -0.1006, 1.1187),
        ]
    ]
    assert max(abs(a - b) for a, b in zip(shown, wanted, strict=True)) <= 6
    assert shown[0] - shown[1] > 255 * (0.72 - 0.36)


def test_pq_white_is_bright_and_its_highlights_do_not_turn_back(tmp_path):
    assert hdr.light(hdr.PQ, 0.0) == 0
    lights = [hdr.light(hdr.PQ, step / 100) for step in range(101)]
    assert lights == sorted(lights)
    assert lights[-1] <= 1
    # 203 cd/m2, white on paper, lies at 58 % of PQ's signal.
    assert 0.85 < hdr.light(hdr.PQ, 0.58) < 1
    path = films.hdr_film(tmp_path, (level(0.58), 512, 512), curve="smpte2084")
    assert min(colour_at(path)) > 230


def test_a_folders_name_does_not_matter(tmp_path, monkeypatch):
    odd = tmp_path / "it's: a\\folder,[1]"
    odd.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(odd))
    path = films.hdr_film(tmp_path, (level(0.75), 512, 512), curve="arib-std-b67")
    assert abs(colour_at(path)[1] - 191) <= 4
    assert list(odd.iterdir()) == []


def test_the_copy_says_that_its_colours_are_ordinary(tmp_path):
    path = films.hdr_film(tmp_path, (level(0.5), 470, 560), curve="arib-std-b67")
    facts = segments.make_copy(path, tmp_path / "copy.mp4")
    assert (facts.hdr, facts.frames) == (True, 50)
    with av.open(str(tmp_path / "copy.mp4")) as container:
        frame = next(container.decode(video=0))
        assert (int(frame.color_trc), int(frame.color_primaries), int(frame.colorspace)) == (
            1,
            1,
            1,
        )
        found = frame.to_image().getpixel((80, 48))
    wanted = colour_at(path)
    assert max(abs(a - b) for a, b in zip(found, wanted, strict=True)) <= 8
