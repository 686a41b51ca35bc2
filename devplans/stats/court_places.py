"""One place for each zone of the half court, for those who choose a zone by its name."""

from math import cos, radians, sin

from devplans.stats.court_lines import CourtLines, court_lines
from devplans.stats.court_spots import Spot, spots_of

# Straight between the side of the middle (30 degrees) and the baseline (90 degrees).
SIDEWAYS_DEG = 60


def zone_places(rules: str) -> tuple[Spot, ...]:
    """A place well inside each zone of the half court, from under the ring outward, left to right.

    Each Spot is named like its zone. rules: fiba, nba, ncaa or nfhs; ValueError for any other.
    """
    lines = court_lines(rules)
    return (*_close(lines), *_mid_range(lines), *spots_of("five-spot-shooting", rules=rules))


def _close(lines: CourtLines) -> list[Spot]:
    inner = lines.no_charge or 0
    key = Spot("key", 0, round((inner + lines.free_throw) / 2))
    return [Spot("restricted", 0, round(inner / 2)), key] if inner else [key]


def _mid_range(lines: CourtLines) -> list[Spot]:
    turn = radians(SIDEWAYS_DEG)
    away = (lines.key_width / 2 / sin(turn) + lines.arc) / 2
    x, y = round(away * sin(turn)), round(away * cos(turn))
    middle = round((lines.free_throw + lines.arc) / 2)
    return [Spot("mid-left", -x, y), Spot("mid-middle", 0, middle), Spot("mid-right", x, y)]
