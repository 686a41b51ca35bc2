"""What is a drawing and what is none; its SVG; the colours; the font."""

import io
import json
import math
import re
import subprocess
import sys
from pathlib import Path
from uuid import UUID
from xml.etree import ElementTree

import hypothesis
import pytest
from hypothesis import given
from PIL import Image, ImageFont

from devplans.core import render
from devplans.feedback import annotation
from devplans.feedback.drawings import reading, shapes, svg
from devplans.feedback.noted import Noted
from tests.feedback.drawings import EVERY_SHAPE, frames, random_drawings

pytestmark = pytest.mark.once


def refused(value) -> str:
    with pytest.raises(shapes.BadDrawing) as caught:
        shapes.parsed(value)
    return caught.value.reason


def arrow(*points, **more):
    return {"kind": "arrow", "points": [list(point) for point in points], **more}


@pytest.mark.parametrize(
    ("reason", "value"),
    [
        ("form", {"kind": "arrow"}),
        ("form", ["arrow"]),
        ("form", [{"kind": "arrow", "points": "0 0 1 1"}]),
        ("form", [arrow((0, 0, 0), (1, 1))]),
        ("form", [arrow((0, 0), (1, 1), onclick="x")]),
        ("form", [arrow((0, 0), (1, 1), text="words on an arrow")]),
        ("kind", [{"kind": "image", "points": [[0, 0]]}]),
        ("kind", [{"kind": ["arrow"], "points": [[0, 0]]}]),
        ("colour", [arrow((0, 0), (1, 1), colour="url(#x)")]),
        ("stroke", [arrow((0, 0), (1, 1), stroke='" onload="x')]),
        ("place", [arrow((0, 0), (math.nan, 1))]),
        ("place", [arrow((0, 0), (math.inf, 1))]),
        ("place", [arrow((0, 0), (1e308, 1))]),
        ("place", [arrow((0, 0), (10**400, 1))]),
        ("place", [arrow((0, 0), (-0.01, 1))]),
        ("place", [arrow((0, 0), ("0.5", 1))]),
        ("place", [arrow((0, 0), (True, 1))]),
        ("place", [arrow((0, 0), (None, 1))]),
        ("points", [arrow(*[(i / 10_000, 0.5) for i in range(10_000)])]),
        ("points", [arrow(*[(i / 300, 0.5) for i in range(300)])] * 11),
        ("shapes", [arrow((0, 0), (1, 1))] * 41),
        ("points_of_arrow", [arrow((0.5, 0.5), (0.500001, 0.5))]),
        ("points_of_circle", [{"kind": "circle", "points": [[0, 0], [0.5, 0.5], [1, 1]]}]),
        ("points_of_area", [{"kind": "area", "points": [[0, 0], [1, 1]]}]),
        ("text_empty", [{"kind": "text", "points": [[0, 0]], "text": " \n\t"}]),
        ("text_long", [{"kind": "text", "points": [[0, 0]], "text": "x" * 1_000_000}]),
        ("text_letter", [{"kind": "text", "points": [[0, 0]], "text": "a\x00b"}]),
        ("text_letter", [{"kind": "text", "points": [[0, 0]], "text": "\u202eabc"}]),
        ("text_letter", [{"kind": "text", "points": [[0, 0]], "text": "🏀"}]),
    ],
)
def test_what_is_no_drawing_is_refused_with_its_reason(reason, value):
    assert refused(value) == reason


@given(random_drawings)
def test_what_was_kept_is_read_again_as_it_was(drawing):
    once = shapes.parsed(drawing)
    assert shapes.parsed(json.loads(json.dumps(once))) == once


@given(random_drawings, frames)
def test_the_svg_is_whole_and_holds_nothing_but_our_own(drawing, frame):
    markup = svg.drawn(shapes.parsed(drawing), width=frame[0], height=frame[1])
    root = ElementTree.fromstring(markup)
    names = {element.tag.partition("}")[2] for element in root.iter()}
    assert names <= {"svg", "g", "path", "ellipse", "text"}
    numbers = re.findall(r' (?:d|x|y|cx|cy|rx|ry|stroke-width)="([^"]*)"', markup)
    assert all(re.fullmatch(r"[-0-9. MLCZ]*", value) for value in numbers)
    words = " ".join(found.text for found in root.iter() if found.tag.endswith("text"))
    for text in shapes.texts(shapes.parsed(drawing)):
        assert all(letter in words for letter in text if letter != " ")


def test_text_with_markup_stays_text():
    words = "</text><script>go()</script>"
    drawing = shapes.parsed([{"kind": "text", "points": [[0.1, 0.5]], "text": words}])
    root = ElementTree.fromstring(svg.drawn(drawing, width=1280, height=720))
    assert [one.tag.partition("}")[2] for one in root.iter()][2:] == ["text"]
    assert root[0][0].text == words


@given(hypothesis.strategies.text("ab c", max_size=60), hypothesis.strategies.integers(6, 30))
def test_wrapped_words_lose_nothing_and_fit(text, most):
    text = " ".join(text.split())
    lines = svg.wrapped(text, most)
    assert all(len(line) <= most for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def luminance(colour) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: float, other: float) -> float:
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


COURTS = {
    "light wood": "#DEB887", "dark wood": "#6B3A1E", "blue": "#1F5FA8", "night film": "#15171C",
    "white lines": "#FFFFFF", "middle grey": "#777777", "red key": "#B3261E", "green": "#2E7D4F",
}  # fmt: skip


@pytest.mark.parametrize("court", COURTS)
@pytest.mark.parametrize("core", svg.CORES)
def test_core_or_casing_stands_out_from_every_court(core, court):
    """3:1 is what WCAG 2.2 asks of graphics (1.4.11)."""
    light, dark = luminance(svg.CORES[core]), luminance(svg.CASING)
    ground = luminance(COURTS[court])
    assert contrast(light, dark) >= 12
    assert max(contrast(light, ground), contrast(dark, ground)) >= 3


@pytest.mark.parametrize("core", svg.CORES)
def test_there_is_no_ground_on_which_both_would_fade(core):
    light, dark = luminance(svg.CORES[core]), luminance(svg.CASING)
    grounds = [step / 1000 for step in range(1001)]
    assert min(max(contrast(light, one), contrast(dark, one)) for one in grounds) >= 3


def ink(markup: str, size=(640, 360)) -> int:
    picture = Image.open(io.BytesIO(render.png(markup, width=size[0], height=size[1])))
    assert picture.size == size
    return sum(picture.getchannel("A").histogram()[129:])


def text_of(words: str) -> str:
    drawing = shapes.parsed([{"kind": "text", "points": [[0.05, 0.5]], "text": words}])
    return svg.drawn(drawing, width=640, height=360)


HIDDEN = """
import sys; sys.path.insert(0, sys.argv[1])
from tests.feedback.test_drawings import ink, text_of
print(ink(text_of("Next time")), ink(text_of("Ñ Ž")))
"""


def test_words_are_drawn_where_no_font_is_installed(tmp_path):
    """Fontconfig and home are empty folders; the words come out with the same ink all the same."""
    root = str(Path(__file__).resolve().parents[2])
    places = dict.fromkeys(("FONTCONFIG_PATH", "FONTCONFIG_FILE", "HOME", "XDG_DATA_HOME"))
    hidden = {name: str(tmp_path) for name in places}
    child = [sys.executable, "-c", HIDDEN, root]
    said = subprocess.run(child, env=hidden, capture_output=True, text=True, check=True).stdout
    found = [int(part) for part in said.split()]
    assert found == [ink(text_of("Next time")), ink(text_of("Ñ Ž"))]
    assert found[0] > 1500
    assert found[1] > 500


def test_every_letter_that_may_be_drawn_has_a_picture_of_its_own():
    """A letter that the font lacks would leave nothing, or the same box for all."""
    letters = [chr(code) for first, last in shapes.LETTERS for code in range(first, last + 1)]
    missing = missing_in_font(letters)
    assert missing == []


def missing_in_font(letters: list[str]) -> list[str]:
    font = ImageFont.truetype(str(render.font_path()), 24)
    box = bytes(font.getmask("\uffff"))
    blank = {" ", "\xa0"}
    return [one for one in letters if one not in blank and bytes(font.getmask(one)) == box]


def test_a_picture_has_bounds():
    for size in ((0, 10), (10, 5000), (100_000, 100_000)):
        with pytest.raises(ValueError, match="not made here"):
            render.png(text_of("x"), width=size[0], height=size[1])


def test_every_shape_leaves_its_mark():
    for shape in EVERY_SHAPE:
        markup = svg.drawn(shapes.parsed([shape]), width=640, height=360)
        assert ink(markup) > 300, shape["kind"]


@given(random_drawings)
def test_a_drawing_goes_through_a_file_as_it_is(drawing):
    kept = shapes.parsed(drawing)
    one = Noted(str(UUID(int=1)), 0, 5, drawing="<svg/>", shapes=reading.written(kept))
    text = annotation.written([one], address="https://a.example/", label="", source="https://b/")
    (found,) = annotation.read_bytes(text.encode()).comments
    assert found == one
    assert (reading.shapes_of(found.shapes) if kept else []) == kept


def test_the_largest_drawing_goes_through_a_file():
    long = {"kind": "freehand", "colour": "chalk", "stroke": "dashed"}
    points = [[0.1234 + i / 10_000, 0.5678] for i in range(300)]
    words = {"kind": "text", "points": [[0.1234, 0.5678]], "text": '"' * 80}
    largest = shapes.parsed([{**long, "points": points}] * 9 + [words] * 31)
    assert reading.shapes_of(reading.written(largest)) == largest


@given(hypothesis.strategies.text(max_size=80))
def test_any_text_is_a_drawing_or_none(text):
    try:
        found = reading.shapes_of(text)
    except shapes.BadDrawing:
        return
    assert shapes.parsed(found) == found
