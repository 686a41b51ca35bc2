"""The painted lines of a half court in millimetres, per rule set.

Origin on the floor under the ring, x to the right of a player facing it, y toward half court.
Widths and radii are to the outer edge of the line, distances from the boundary to its inner edge.
"""

from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class CourtLines:
    """Sizes in millimetres.

    corner: distance of the corner line from the ring's axis, equal to `arc` where it is no closer.
    no_charge: radius of the arc under the ring, None where none is painted.
    """

    width: int
    length: int
    baseline: int
    arc: int
    corner: int
    key_width: int
    free_throw: int
    circle: int
    board: int
    board_width: int
    no_charge: int | None
    ring: int = 229

    @property
    def half_length(self) -> int:
        return self.length // 2

    @property
    def arc_break(self) -> float:
        """y where the straight corner line meets the arc."""
        return sqrt(self.arc**2 - self.corner**2)


_FOOT = 304.8
_INCH = 25.4


def _imperial(
    *, length_ft: float, arc_in: float, corner_in: float, key_ft: float, no_charge_ft: float | None
) -> CourtLines:
    """What the three rule sets in feet share: board, ring, free-throw line, circles, width."""
    return CourtLines(
        width=round(50 * _FOOT),
        length=round(length_ft * _FOOT),
        baseline=round(63 * _INCH),
        arc=round(arc_in * _INCH),
        corner=round(corner_in * _INCH),
        key_width=round(key_ft * _FOOT),
        free_throw=round(13.75 * _FOOT),
        circle=round(6 * _FOOT),
        board=round(15 * _INCH),
        board_width=round(72 * _INCH),
        no_charge=None if no_charge_ft is None else round(no_charge_ft * _FOOT),
    )


COURTS = {
    "fiba": CourtLines(
        width=15_000,
        length=28_000,
        baseline=1_575,
        arc=6_750,
        corner=6_600,
        key_width=4_900,
        free_throw=4_225,
        circle=1_800,
        board=375,
        board_width=1_800,
        no_charge=1_250,
    ),
    "nba": _imperial(length_ft=94, arc_in=285, corner_in=264, key_ft=16, no_charge_ft=4),
    "ncaa": _imperial(length_ft=94, arc_in=265.75, corner_in=259.875, key_ft=12, no_charge_ft=4),
    "nfhs": _imperial(length_ft=84, arc_in=237, corner_in=237, key_ft=12, no_charge_ft=None),
}


def court_lines(rules: str) -> CourtLines:
    """Lines of `rules` (fiba, nba, ncaa, nfhs). Raises ValueError for any other name."""
    try:
        return COURTS[rules]
    except KeyError:
        raise ValueError(f"no court is known for {rules!r}") from None
