"""What a drawing is: a list of shapes in fractions of the upright frame. Pure.

    {"kind": "arrow", "points": [[0.1, 0.2], [0.4, 0.2]], "colour": "chalk", "stroke": "solid"}

x counts from the left edge, y from the top, 0 to 1. An arrow (it points to its last point), a line
and a freehand stroke take two points or more, an area three or more, a circle its middle and a
corner of the box around it, a text the place where its first letter stands; only a text has
`"text"`.
"""

import math
import unicodedata
from collections.abc import Sequence
from typing import Any, TypedDict

KINDS = ("arrow", "line", "circle", "area", "freehand", "text")
COLOURS = ("chalk", "mint", "sky", "blush")
STROKES = ("solid", "dashed", "heavy")
FEWEST_POINTS = {"arrow": 2, "line": 2, "circle": 2, "area": 3, "freehand": 2, "text": 1}
EXACT_POINTS = {"circle", "text"}
MOST_SHAPES = 40
MOST_POINTS = 300
MOST_POINTS_IN_ALL = 3_000
# The board takes 60; what a name is replaced with may be longer.
LONGEST_TEXT = 80
PLACES = 10_000
# The letters of the font that every rendering has; any other would differ from machine to machine.
LETTERS = (
    (0x20, 0x7E), (0xA0, 0xAC), (0xAE, 0x17E), (0x218, 0x21B), (0x386, 0x38A), (0x38E, 0x3A1),
    (0x3A3, 0x3CE), (0x400, 0x45F), (0x490, 0x491), (0x1E80, 0x1E85), (0x1EA0, 0x1EF9),
    (0x2013, 0x2014), (0x2018, 0x201A), (0x201C, 0x201E), (0x2022, 0x2022), (0x2026, 0x2026),
    (0x20AC, 0x20AC), (0x2190, 0x2193), (0x2212, 0x2212),
)  # fmt: skip

# x and y; a list, as JSON gives it back.
Point = list[float]


class Shape(TypedDict, total=False):
    kind: str
    points: list[Point]
    colour: str
    stroke: str
    text: str


class BadDrawing(ValueError):
    """Why something is no drawing: `reason` is stable, `values` fill its sentence."""

    def __init__(self, reason: str, **values: object) -> None:
        super().__init__(reason)
        self.reason = reason
        self.values = values


def parsed(value: Any) -> list[Shape]:
    """`value`, as JSON gave it, as shapes: rounded to 1/10,000 of the frame, repeated points once,
    spaces in texts single. Raises BadDrawing."""
    if not isinstance(value, list):
        raise BadDrawing("form")
    if len(value) > MOST_SHAPES:
        raise BadDrawing("shapes", most=MOST_SHAPES)
    shapes = [_shape(one) for one in value]
    if sum(len(shape["points"]) for shape in shapes) > MOST_POINTS_IN_ALL:
        raise BadDrawing("points", most=MOST_POINTS_IN_ALL)
    return shapes


def texts(shapes: Sequence[Shape]) -> list[str]:
    """The words that are written in a drawing, in order."""
    return [shape["text"] for shape in shapes if shape["kind"] == "text"]


def _shape(value: Any) -> Shape:
    if not isinstance(value, dict):
        raise BadDrawing("form")
    kind = value.get("kind")
    if kind not in KINDS:
        raise BadDrawing("kind", known=", ".join(KINDS))
    known = {"kind", "points", "colour", "stroke"} | ({"text"} if kind == "text" else set())
    if set(value) - known:
        raise BadDrawing("form")
    colour, stroke = value.get("colour", COLOURS[0]), value.get("stroke", STROKES[0])
    if colour not in COLOURS:
        raise BadDrawing("colour", known=", ".join(COLOURS))
    if stroke not in STROKES:
        raise BadDrawing("stroke", known=", ".join(STROKES))
    shape: Shape = {
        "kind": kind,
        "points": _points(kind, value.get("points")),
        "colour": colour,
        "stroke": stroke,
    }
    if kind == "text":
        shape["text"] = _text(value.get("text"))
    return shape


def _points(kind: str, value: Any) -> list[Point]:
    if not isinstance(value, list):
        raise BadDrawing("form")
    if len(value) > MOST_POINTS:
        raise BadDrawing("points", most=MOST_POINTS)
    points: list[Point] = []
    for one in value:
        point = _point(one)
        if not points or point != points[-1]:
            points.append(point)
    fewest = FEWEST_POINTS[kind]
    if len(points) < fewest or (kind in EXACT_POINTS and len(points) != fewest):
        raise BadDrawing(f"points_of_{kind}")
    return points


def _point(value: Any) -> Point:
    if not isinstance(value, list) or len(value) != 2:
        raise BadDrawing("form")
    return [_fraction(value[0]), _fraction(value[1])]


def _fraction(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadDrawing("place")
    if not 0 <= value <= 1:  # also what is no number at all: it compares as false
        raise BadDrawing("place")
    return math.floor(value * PLACES + 0.5) / PLACES


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise BadDrawing("form")
    # Before it is looked at letter by letter: composing a megabyte takes its time.
    if len(value) > 4 * LONGEST_TEXT:
        raise BadDrawing("text_long", most=LONGEST_TEXT)
    words = " ".join(unicodedata.normalize("NFC", value).split())
    if not words:
        raise BadDrawing("text_empty")
    if len(words) > LONGEST_TEXT:
        raise BadDrawing("text_long", most=LONGEST_TEXT)
    for letter in words:
        if not any(first <= ord(letter) <= last for first, last in LETTERS):
            raise BadDrawing("text_letter", letter=letter)
    return words
