"""Where the strokes of a count go; templates draw them. Charts are in `devplans.core.charts`."""

from dataclasses import dataclass

STROKE_STEP = 9
FIVE_WIDTH = 44
STROKE_HEIGHT = 24
MOST_FIVES = 20


@dataclass(frozen=True)
class Strokes:
    """Line ends (x1, y1, x2, y2) of a count in fives, one line per unit."""

    lines: tuple[tuple[float, float, float, float], ...]
    width: int
    height: int


def strokes(count: int) -> Strokes:
    """A count as strokes, the fifth across the four before it.

    A little slant, as a hand would write it; the slant follows from the place, so a
    count always looks the same. Raises ValueError for a negative count.
    """
    if count < 0:
        raise ValueError(f"a count cannot be negative, got {count}")
    lines = []
    for index in range(count):
        five, place = divmod(index, 5)
        left = five * FIVE_WIDTH + 4
        if place == 4:
            lines.append((left - 3, STROKE_HEIGHT - 6, left + 3 * STROKE_STEP + 7, 6))
        else:
            foot, unsteady = left + place * STROKE_STEP, place % 2
            top = 2 + (place + five) % 2
            lines.append((foot, STROKE_HEIGHT - 2 - unsteady, foot + 2 + unsteady, top))
    rest = count % 5
    width = count // 5 * FIVE_WIDTH + (rest * STROKE_STEP + 4 if rest else -6)
    return Strokes(tuple(tuple(map(float, line)) for line in lines), max(width, 4), STROKE_HEIGHT)
