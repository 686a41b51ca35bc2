"""Where the marks and the numbers of a shot chart go: millimetres in and out; templates draw."""

from collections import Counter
from collections.abc import Iterable
from math import cos, pi, radians, sin, sqrt

from devplans.stats.court_lines import CourtLines

CROSS = 150
BEHIND = 1_300
WING_DEG = 38.0
APART = 210
# Turning by this much each time, no two marks of a place come to lie on each other.
GOLDEN_ANGLE = pi * (3 - sqrt(5))


def side_by_side(places: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same places, those that are there more than once laid around the first."""
    seen: Counter[tuple[int, int]] = Counter()
    found = []
    for x, y in places:
        number = seen[x, y]
        seen[x, y] += 1
        away, turn = APART * 1.25 * sqrt(number), number * GOLDEN_ANGLE
        found.append((round(x + away * cos(turn)), round(y + away * sin(turn))))
    return found


def dots(places: Iterable[tuple[int, int]]) -> str:
    """Lines of no length as path data: with round ends each is a dot as wide as the stroke."""
    return "".join(f"M{x} {y}h0" for x, y in places)


def crosses(places: Iterable[tuple[int, int]]) -> str:
    """Two strokes for each place, as path data."""
    size, back = 2 * CROSS, -2 * CROSS
    return "".join(
        f"M{x - CROSS} {y - CROSS}l{size} {size}m{back} 0l{size} {back}" for x, y in places
    )


def number_place(zone: str, lines: CourtLines) -> tuple[int, int] | None:
    """Where the number of a zone stands, inside it; None for zones beyond the half court.

    "free-throw" stands outside the circle's top, for it is no zone but a way to shoot.
    """
    side = 1 if zone.endswith("right") else -1
    between = (lines.free_throw + lines.circle + lines.arc) // 2
    if zone in {"mid-left", "mid-right"}:
        # Between the key and the arc, well outside the middle.
        x = (lines.key_width // 2 + min(lines.corner, lines.arc)) // 2
        return side * x, min(round(lines.arc_break) + 500, lines.free_throw - 1_000)
    if zone.startswith("corner"):
        # At the boundary, behind the ring; the number reaches inward from there.
        return side * (lines.width // 2 - 200), -1_000
    if zone.startswith("wing"):
        out = lines.arc + BEHIND
        return side * round(out * sin(radians(WING_DEG))), round(out * cos(radians(WING_DEG)))
    places = {
        "restricted": (0, (lines.no_charge or 0) // 2 + 200),
        "key": (0, lines.free_throw // 2 + 500),
        "mid-middle": (0, between if lines.arc - lines.free_throw > 1_500 else lines.arc - 300),
        "top": (0, lines.arc + BEHIND),
        "free-throw": (0, lines.free_throw - 250),
    }
    return places.get(zone)
