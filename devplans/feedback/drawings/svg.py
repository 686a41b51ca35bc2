"""A drawing as SVG: one text for the page, the still, the clip and the exports. Pure.

drawing-svg.js holds the same rules for what is being drawn; both give the same text, letter for
letter. So there is nothing here but sums, products and square roots, done in one order: they are
exact alike in both languages, sines are not.
"""

import math
from collections.abc import Sequence

from devplans.feedback.drawings.shapes import Shape

Point = tuple[float, float]
# Units: the longer side of the frame is 1,000 of them.
LONG_SIDE = 1000
# A light core in a dark casing: whatever the floor, one of the two stands out from it by 3:1.
CORES = {"chalk": "#FFF3C4", "mint": "#C9F7CF", "sky": "#CDEBFF", "blush": "#FFDCE0"}
CASING = "#14181F"
WIDTHS = {"solid": 6, "dashed": 6, "heavy": 10}
DASHES = {"solid": "", "dashed": "14 13", "heavy": ""}
CASED = 4.4
HEAD_LENGTH = {"solid": 30, "dashed": 30, "heavy": 40}
HEAD_HALF = {"solid": 14, "dashed": 14, "heavy": 19}
# Where the shaft ends inside of its head, as a share of the head.
SHAFT_IN_HEAD = 0.7
SMALLEST_RADIUS = 8
FILL = 0.3
FONT = "Source Sans Pro"
FONT_WEIGHT = 600
TEXT_SIZE = 36
LINE_HEIGHT = 42
TEXT_CASED = 8
LETTER_WIDTH = 0.56
FEWEST_LETTERS = 6
MARGIN = 8
XMLNS = "http://www.w3.org/2000/svg"


def drawn(shapes: Sequence[Shape], *, width: int, height: int) -> str:
    """The SVG of `shapes` over an upright frame of that many pixels; only the shape of the frame
    counts. Raises ZeroDivisionError for a frame without size."""
    size = frame_units(width, height)
    inside = "".join(_shape(shape, size) for shape in shapes)
    return (
        f'<svg xmlns="{XMLNS}" viewBox="0 0 {number(size[0])} {number(size[1])}">'
        f'<g fill="none" stroke-linecap="round" stroke-linejoin="round">{inside}</g></svg>'
    )


def frame_units(width: int, height: int) -> Point:
    longer = max(width, height)
    return LONG_SIDE * width / longer, LONG_SIDE * height / longer


def number(value: float) -> str:
    """At most two decimals, without zeros at the end."""
    hundredths = math.floor(value * 100 + 0.5)
    sign = "-" if hundredths < 0 else ""
    whole, rest = divmod(abs(hundredths), 100)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole}.{rest // 10}" + (f"{rest % 10}" if rest % 10 else "")


def _shape(shape: Shape, size: Point) -> str:
    points = [(x * size[0], y * size[1]) for x, y in shape["points"]]
    kind = shape["kind"]
    if kind == "text":
        return _text(shape, points[0], size)
    if kind == "circle":
        return _cased(shape, _ellipse(*points))
    if kind == "arrow":
        return _arrow(shape, points)
    if kind == "area":
        fill = f'<path d="{_straight(points)}Z" fill="{_core(shape)}" fill-opacity="{FILL}"/>'
        return fill + _cased(shape, f'path d="{_straight(points)}Z"')
    path = _straight(points) if kind == "line" else _smooth(points)
    return _cased(shape, f'path d="{path}"')


def _core(shape: Shape) -> str:
    return CORES[shape["colour"]]


def _cased(shape: Shape, element: str) -> str:
    """`element` twice: the dark casing, never dashed, and the core upon it."""
    return _casing(shape, element) + _line(shape, element)


def _casing(shape: Shape, element: str) -> str:
    width = WIDTHS[shape["stroke"]] + CASED
    return f'<{element} stroke="{CASING}" stroke-width="{number(width)}"/>'


def _line(shape: Shape, element: str) -> str:
    stroke = shape["stroke"]
    dashes = f' stroke-dasharray="{DASHES[stroke]}"' if DASHES[stroke] else ""
    return f'<{element} stroke="{_core(shape)}" stroke-width="{number(WIDTHS[stroke])}"{dashes}/>'


def _arrow(shape: Shape, points: list[Point]) -> str:
    (from_x, from_y), (x, y) = points[-2:]
    along_x, along_y = x - from_x, y - from_y
    length = math.sqrt(along_x * along_x + along_y * along_y)
    along_x, along_y = along_x / length, along_y / length
    long, half = HEAD_LENGTH[shape["stroke"]], HEAD_HALF[shape["stroke"]]
    base_x, base_y = x - along_x * long, y - along_y * long
    inside = long * SHAFT_IN_HEAD
    shaft = [*points[:-1], (x - along_x * inside, y - along_y * inside)]
    head = [
        (x, y),
        (base_x - along_y * half, base_y + along_x * half),
        (base_x + along_y * half, base_y - along_x * half),
    ]
    path = f'path d="{_smooth(shaft)}"'
    tip = f'path d="{_straight(head)}Z"'
    return (
        _casing(shape, path)
        + f'<{tip} fill="{CASING}" stroke="{CASING}" stroke-width="{number(CASED)}"/>'
        + _line(shape, path)
        + f'<{tip} fill="{_core(shape)}"/>'
    )


def _ellipse(middle: Point, corner: Point) -> str:
    across = max(abs(corner[0] - middle[0]), SMALLEST_RADIUS)
    down = max(abs(corner[1] - middle[1]), SMALLEST_RADIUS)
    places = f'cx="{number(middle[0])}" cy="{number(middle[1])}"'
    return f'ellipse {places} rx="{number(across)}" ry="{number(down)}"'


def _pair(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def _straight(points: Sequence[Point]) -> str:
    return "M" + "L".join(_pair(point) for point in points)


def _smooth(points: Sequence[Point]) -> str:
    """A curve through all points (Catmull and Rom 1974, as cubic Bezier pieces)."""
    if len(points) == 2:
        return _straight(points)
    path = "M" + _pair(points[0])
    last = len(points) - 1
    for index in range(last):
        before, here = points[max(0, index - 1)], points[index]
        there, after = points[index + 1], points[min(last, index + 2)]
        first = (here[0] + (there[0] - before[0]) / 6, here[1] + (there[1] - before[1]) / 6)
        second = (there[0] - (after[0] - here[0]) / 6, there[1] - (after[1] - here[1]) / 6)
        path += f"C{_pair(first)} {_pair(second)} {_pair(there)}"
    return path


def _text(shape: Shape, place: Point, size: Point) -> str:
    """Toward the middle of the frame, in as many lines as it needs, never out of the frame."""
    x = min(max(place[0], MARGIN), size[0] - MARGIN)
    from_left = place[0] * 2 <= size[0]
    room = size[0] - MARGIN - x if from_left else x - MARGIN
    most = max(FEWEST_LETTERS, math.floor(room / (TEXT_SIZE * LETTER_WIDTH)))
    lines = wrapped(shape["text"], most)
    lowest = size[1] - MARGIN - TEXT_SIZE / 4 - (len(lines) - 1) * LINE_HEIGHT
    y = max(min(place[1], lowest), TEXT_SIZE)
    anchor = "start" if from_left else "end"
    return "".join(
        f'<text x="{number(x)}" y="{number(y + index * LINE_HEIGHT)}" text-anchor="{anchor}"'
        f' font-family="{FONT}" font-weight="{FONT_WEIGHT}" font-size="{TEXT_SIZE}"'
        f' text-rendering="geometricPrecision" fill="{_core(shape)}" stroke="{CASING}"'
        f' stroke-width="{TEXT_CASED}" paint-order="stroke">{escaped(line)}</text>'
        for index, line in enumerate(lines)
    )


def escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def wrapped(text: str, most: int) -> list[str]:
    """`text` in lines of at most `most` letters, broken between words where that can be."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        rest = word
        longer = f"{line} {rest}" if line else rest
        if len(longer) <= most:
            line = longer
            continue
        if line:
            lines.append(line)
        while len(rest) > most:
            lines.append(rest[:most])
            rest = rest[most:]
        line = rest
    return [*lines, line] if line else lines
