"""Where on the court a shot was taken: its zone, told from the place and the rule set."""

from dataclasses import dataclass
from math import atan2, degrees

from devplans.stats.court_lines import CourtLines, court_lines

# How far to either side of straight out the middle reaches, degrees (common practice, no source).
MIDDLE_DEG = 30.0


@dataclass(frozen=True)
class Zone:
    """points: 2 or 3, None outside the lines. name: one of `ZONES`. in_key: within the painted
    key, its lines included. restricted: where the arc under the ring forbids a charge."""

    points: int | None
    name: str
    in_key: bool
    restricted: bool


# From under the ring outward, left to right as the player who faces the ring sees them.
ZONES = (
    "restricted",
    "key",
    "mid-left",
    "mid-middle",
    "mid-right",
    "corner-left",
    "wing-left",
    "top",
    "wing-right",
    "corner-right",
    "backcourt",
    "out",
)


def zone(x_mm: float, y_mm: float, *, rules: str) -> Zone:
    """The zone of a place in millimetres from the point under the ring: x to the right of a player
    who faces it, y toward half court. A place on a line belongs to the ring's side of it.

    rules: fiba, nba, ncaa or nfhs; ValueError for any other, and for a place that is no number.
    Source: the rule books' court diagrams (FIBA OBR Art. 2; NBA, NCAA and NFHS Rule 1).
    """
    lines = court_lines(rules)
    try:
        x, y = round(x_mm), round(y_mm)
    except (OverflowError, ValueError):
        raise ValueError(f"no place on a court: {x_mm}, {y_mm}") from None
    if abs(2 * x) > lines.width or not -lines.baseline <= y <= lines.length - lines.baseline:
        return Zone(None, "out", in_key=False, restricted=False)
    if y > lines.half_length - lines.baseline:
        return Zone(3, "backcourt", in_key=False, restricted=False)
    if is_three(x, y, lines):
        in_corner = y <= lines.arc_break
        name = (
            f"corner-{side(x)}"
            if in_corner
            else {"middle": "top"}.get(direction(x, y), f"wing-{side(x)}")
        )
        return Zone(3, name, in_key=False, restricted=False)
    in_key = abs(2 * x) <= lines.key_width and y <= lines.free_throw
    restricted = in_restricted(x, y, lines)
    name = "restricted" if restricted else "key" if in_key else f"mid-{direction(x, y)}"
    return Zone(2, name, in_key=in_key, restricted=restricted)


def is_three(x: int, y: int, lines: CourtLines) -> bool:
    """Up to where the straight corner line meets the arc only that line counts: behind the ring
    the arc would come back into the court."""
    if y <= lines.arc_break:
        return abs(x) > lines.corner
    return x * x + y * y > lines.arc**2


def in_restricted(x: int, y: int, lines: CourtLines) -> bool:
    """Within the arc under the ring, or between its straight legs, which end below the board."""
    if lines.no_charge is None:
        return False
    between_legs = abs(x) <= lines.no_charge and -lines.board <= y <= 0
    return between_legs or x * x + y * y <= lines.no_charge**2


def side(x: int) -> str:
    return "right" if x > 0 else "left"


def direction(x: int, y: int) -> str:
    """left, middle or right of the ring, by the angle from straight out."""
    return "middle" if abs(degrees(atan2(x, y))) <= MIDDLE_DEG else side(x)
