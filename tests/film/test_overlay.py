"""A drawing on stills and in clips: on the right frame, for a while, nothing else changed."""

import io
from fractions import Fraction

import av
import numpy as np
import pytest
from PIL import Image

from devplans.film import encode, sandbox
from tests.film import films

pytestmark = pytest.mark.once
# A bar across the lower edge, where the numbered films carry no digit.
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 96">'
    '<path d="M0 92H160" stroke="#808080" stroke-width="8"/></svg>'
)
HOLD = Fraction(encode.HOLD_MS, 1000)


def has_bar(picture: Image.Image) -> bool:
    rows = np.asarray(picture.convert("L"), dtype=int)[-3:]
    return bool(np.abs(rows - 128).max() < 24)


def shown(path) -> list[tuple[Fraction, int, bool]]:
    found = []
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            picture = frame.to_image()
            found.append((frame.pts * frame.time_base, films.number_on(picture), has_bar(picture)))
    return found


@pytest.mark.parametrize("name", ["steady", "irregular", "phone"])
def test_a_clip_stands_still_on_the_very_frame_and_goes_on(of_kind, tmp_path, name):
    kind, path = of_kind[name]
    times = kind.seconds()
    number = len(times) // 2
    drawn_ms = -(-times[number].numerator * 1000 // times[number].denominator)
    start_ms, end_ms = drawn_ms - 600, drawn_ms + 500
    length = encode.cut_clip(
        path, tmp_path / "c.mp4", start_ms=start_ms, end_ms=end_ms, drawing=SVG, drawn_ms=drawn_ms
    )
    plain = encode.cut_clip(path, tmp_path / "p.mp4", start_ms=start_ms, end_ms=end_ms)
    assert length == plain + encode.HOLD_MS
    without = films.frames_of(tmp_path / "p.mp4")
    found = shown(tmp_path / "c.mp4")
    held = [(time, frame) for time, frame, is_drawn in found if is_drawn]
    assert {frame for _time, frame in held} == {number}
    at = next(time for time, frame in without if frame == number)
    assert held[0][0] == at
    assert at + HOLD - Fraction(1, 20) < held[-1][0] < at + HOLD
    others = [(time, frame) for time, frame, is_drawn in found if not is_drawn]
    moved = [(time + (HOLD if time >= at else 0), frame) for time, frame in without]
    assert [frame for _time, frame in others] == [frame for _time, frame in moved]
    off = [abs(a - b) for (a, _), (b, _) in zip(others, moved, strict=True)]
    assert max(off) < Fraction(1, 1000)


def test_the_sound_holds_its_breath_with_the_picture(of_kind, tmp_path):
    _kind, path = of_kind["late"]
    for name, drawing in (("plain", ""), ("drawn", SVG)):
        encode.cut_clip(
            path, tmp_path / f"{name}.mp4", start_ms=700, end_ms=3_300, drawing=drawing,
            drawn_ms=2_000,
        )  # fmt: skip
    before = films.beeps_in(tmp_path / "plain.mp4")
    after = films.beeps_in(tmp_path / "drawn.mp4")
    held_at = 2.0 - 0.7
    wanted = [tone + (1.5 if tone > held_at else 0) for tone in before]
    assert len(after) == len(before) == 2
    assert max(abs(a - b) for a, b in zip(after, wanted, strict=True)) < 0.03


def test_a_drawn_clip_is_no_longer_than_any_other(tmp_path):
    slow = films.Kind("slow", films.steady(90), Fraction(1, 2), options={"bf": "2", "g": "20"})
    path = films.write(tmp_path, slow)
    drawn = {"drawing": SVG, "drawn_ms": 3_000}
    length = sandbox.cut_clip(path, tmp_path / "c.mp4", start_ms=2_000, end_ms=44_000, **drawn)
    assert length == 30_000


def test_a_still_carries_the_drawing_upright_at_its_own_size(of_kind):
    for name in ("steady", "portrait", "upside-down"):
        _kind, path = of_kind[name]
        bare = Image.open(io.BytesIO(sandbox.still(path, 1_000)))
        width, height = bare.size
        svg = SVG.replace("0 0 160 96", f"0 0 {width} {height}")
        svg = svg.replace("M0 92H160", f"M0 {height - 4}H{width}")
        drawn = Image.open(io.BytesIO(sandbox.still(path, 1_000, drawing=svg)))
        assert drawn.size == bare.size
        assert has_bar(drawn)
        assert not has_bar(bare)
        assert films.number_on(drawn) == films.number_on(bare)
