"""Preset places of drills that are shot from fixed spots, and which of them a shot belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from devplans.stats.court_lines import CourtLines, court_lines

# A step behind the line, and how far from a spot a shot still belongs to it (common practice, no
# source). Far enough that a shot keeps its spot when the club changes to other lines.
BEHIND = 300
REACH = 1_500


@dataclass(frozen=True)
class Spot:
    """A place in millimetres from the point under the ring; `name` is one of `NAMES`."""

    name: str
    x_mm: int
    y_mm: int


# Left to right as the player who faces the ring sees them.
FIVE = ("corner-left", "wing-left", "top", "wing-right", "corner-right")
LINE = ("free-throw",)
NAMES = FIVE + LINE
BY_DRILL: dict[str, tuple[str, ...]] = {
    "five-spot-shooting": FIVE,
    "free-throw-sets": LINE,
    "free-throws-tired": LINE,
}


def spots_of(drill: str, *, rules: str) -> tuple[Spot, ...]:
    """The preset spots of a drill by its slug, left to right; none for a drill without.

    rules: fiba, nba, ncaa or nfhs; ValueError for any other.
    """
    lines = court_lines(rules)
    return tuple(_place(name, lines) for name in BY_DRILL.get(drill, ()))


def _place(name: str, lines: CourtLines) -> Spot:
    if name == "free-throw":
        return Spot(name, 0, lines.free_throw)
    behind = lines.arc + BEHIND
    if name == "top":
        return Spot(name, 0, behind)
    x, y = round(behind / sqrt(2)), round(behind / sqrt(2))
    if name.startswith("corner"):
        x, y = (lines.corner + lines.width // 2) // 2, 0
    return Spot(name, -x if name.endswith("left") else x, y)


def spot_of(x_mm: int, y_mm: int, spots: Sequence[Spot]) -> Spot | None:
    """The nearest of `spots`; None where none is within reach, the first of two as near."""
    near = min(
        spots, key=lambda spot: (spot.x_mm - x_mm) ** 2 + (spot.y_mm - y_mm) ** 2, default=None
    )
    if near is None or (near.x_mm - x_mm) ** 2 + (near.y_mm - y_mm) ** 2 > REACH**2:
        return None
    return near
