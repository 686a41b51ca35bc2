"""What is drawn at each moment of a log: a freehand stroke grows as long as it was drawn, any other
shape stands there once it was finished, and a clearing wipes all of it off. Pure."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from devplans.feedback.drawings.shapes import Point, Shape
from devplans.feedback.voices.log import Log, Stroke

# A growing stroke is drawn anew that often: once for each frame of a clip.
GROWS_EVERY_MS = 40
# How far ink reaches from the lines of a shape, as a share of the frame's width: half a stroke, or
# half the head of an arrow.
INK_REACH = 0.05
Box = tuple[float, float, float, float]


def shown_at(log: Log, ms: int) -> list[Shape]:
    """The shapes on screen at `ms` of the sound, in the order in which they were begun."""
    found = []
    for stroke in log.strokes:
        if stroke.at_ms <= ms and (stroke.gone_ms is None or ms < stroke.gone_ms):
            shape = _grown(stroke, ms)
            if shape is not None:
                found.append(shape)
    return found


def _grown(stroke: Stroke, ms: int) -> Shape | None:
    if ms >= stroke.until_ms:
        return stroke.shape
    if stroke.shape["kind"] != "freehand":
        return None
    share = (ms - stroke.at_ms) / (stroke.until_ms - stroke.at_ms)
    points = first_part(stroke.shape["points"], share)
    return {**stroke.shape, "points": points} if len(points) > 1 else None


def first_part(points: Sequence[Point], share: float) -> list[Point]:
    """The first `share` (0 to 1) of a line's length."""
    steps = list(pairwise(points))
    left = sum(math.dist(*step) for step in steps) * share
    part = [list(points[0])]
    for (from_x, from_y), (x, y) in steps:
        length = math.dist((from_x, from_y), (x, y))
        if length >= left:
            along = left / length if length else 0.0
            part.append([from_x + (x - from_x) * along, from_y + (y - from_y) * along])
            break
        part.append([x, y])
        left -= length
    return part if len(part) > 2 or part[-1] != part[0] else part[:1]


def changes(log: Log, length_ms: int) -> Iterator[tuple[int, list[Shape]]]:
    """What is drawn from which moment on, in order, wherever it changes before `length_ms`."""
    moments = {0}
    for stroke in log.strokes:
        moments.add(stroke.until_ms)
        if stroke.gone_ms is not None:
            moments.add(stroke.gone_ms)
        if stroke.shape["kind"] == "freehand":
            moments.update(range(stroke.at_ms, stroke.until_ms, GROWS_EVERY_MS))
    last: list[Shape] = []
    for moment in sorted(moment for moment in moments if moment < length_ms):
        shapes = shown_at(log, moment)
        if shapes != last:
            yield moment, shapes
            last = shapes


def box_around(shapes: Sequence[Shape]) -> Box | None:
    """Where in the frame all of `shapes` lie; None where words among them may reach anywhere."""
    if not shapes or any(shape["kind"] == "text" for shape in shapes):
        return None
    places = [place for shape in shapes for place in _reached(shape)]
    across, down = zip(*places, strict=True)
    return (
        max(0.0, min(across) - INK_REACH),
        max(0.0, min(down) - 2 * INK_REACH),
        min(1.0, max(across) + INK_REACH),
        min(1.0, max(down) + 2 * INK_REACH),
    )


def _reached(shape: Shape) -> list[Point]:
    """Points around a shape: of a circle, whose second point is a corner, both corners; of a curve
    also those that it swings toward (see drawings.svg)."""
    points = shape["points"]
    if shape["kind"] == "circle":
        (x, y), (corner_x, corner_y) = points
        return [*points, [2 * x - corner_x, 2 * y - corner_y]]
    if shape["kind"] not in {"arrow", "freehand"}:
        return points
    found = list(points)
    for before, (x, y), after in zip(points, points[1:], points[2:], strict=False):
        along_x, along_y = (after[0] - before[0]) / 6, (after[1] - before[1]) / 6
        found += [[x - along_x, y - along_y], [x + along_x, y + along_y]]
    return found
