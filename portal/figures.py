"""Where the pieces of a drawing go: counts and shares in, positions out; templates draw them."""

from collections.abc import Sequence
from dataclasses import dataclass

STROKE_STEP = 9
FIVE_WIDTH = 44
STROKE_HEIGHT = 24
MOST_FIVES = 20
BAR_HEIGHT = 92
BAR_FLOOR = 98


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


def percent_of(share: float) -> float:
    """A share (0..1) as a place on a ruled scale, in percent of its width, held at the ends."""
    return round(100 * min(1.0, max(0.0, share)), 2)


@dataclass(frozen=True)
class Bar:
    label: str
    organised: int
    own: int
    slot: float
    middle: float
    organised_height: float
    own_height: float
    is_current: bool

    @property
    def organised_top(self) -> float:
        return round(BAR_FLOOR - self.organised_height, 1)

    @property
    def own_top(self) -> float:
        return round(BAR_FLOOR - self.own_height, 1)


def week_bars(weeks: Sequence[tuple[str, int, int]]) -> list[Bar]:
    """Bars for (label, minutes with the team, minutes on one's own) per week, oldest first.

    Slots and middles are percent of the width, heights pixels; the tallest fills the drawing.
    """
    tallest = max((max(organised, own) for _, organised, own in weeks), default=0)
    scale = BAR_HEIGHT / tallest if tallest else 0
    slot = 100 / len(weeks) if weeks else 0
    return [
        Bar(
            label=label,
            organised=organised,
            own=own,
            slot=round(index * slot, 2),
            middle=round((index + 0.5) * slot, 2),
            organised_height=round(organised * scale, 1),
            own_height=round(own * scale, 1),
            is_current=index == len(weeks) - 1,
        )
        for index, (label, organised, own) in enumerate(weeks)
    ]
