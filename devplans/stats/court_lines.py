"""The painted lines of a half court in millimetres, per rule set.

Origin on the floor under the ring, x to the right of a player facing it, y toward half court.
Widths and radii are to the outer edge of the line, distances from the boundary to its inner edge.
"""

from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class CourtLines:
    """Sizes in millimetres. `corner` is the distance of the corner line from the ring's axis; equal to `arc`
    where the rule set has no closer corner. `no_charge` is None where no such arc is painted."""

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

COURTS = {
    "fiba": CourtLines(
        width=15_000, length=28_000, baseline=1_575, arc=6_750, corner=6_600, key_width=4_900,
        free_throw=4_225, circle=1_800, board=375, board_width=1_800, no_charge=1_250,
    ),
    "nba": CourtLines(
        width=15_240, length=28_651, baseline=1_600, arc=7_239, corner=round(22 * _FOOT),
        key_width=4_877, free_throw=round(13.75 * _FOOT), circle=round(6 * _FOOT), board=round(15 * _INCH),
        board_width=round(72 * _INCH), no_charge=round(4 * _FOOT),
    ),
    "ncaa": CourtLines(
        width=15_240, length=28_651, baseline=1_600, arc=round((22 * 12 + 1.75) * _INCH),
        corner=round((25 * 12 - 40.125) * _INCH), key_width=round(12 * _FOOT), free_throw=round(13.75 * _FOOT),
        circle=round(6 * _FOOT), board=round(15 * _INCH), board_width=round(72 * _INCH), no_charge=round(4 * _FOOT),
    ),
    "nfhs": CourtLines(
        width=15_240, length=round(84 * _FOOT), baseline=1_600, arc=round(19.75 * _FOOT), corner=round(19.75 * _FOOT),
        key_width=round(12 * _FOOT), free_throw=round(13.75 * _FOOT), circle=round(6 * _FOOT),
        board=round(15 * _INCH), board_width=round(72 * _INCH), no_charge=None,
    ),
}  # fmt: skip


def court_lines(rules: str) -> CourtLines:
    """Lines of `rules` (fiba, nba, ncaa, nfhs). Raises ValueError for any other name."""
    try:
        return COURTS[rules]
    except KeyError:
        raise ValueError(f"no court is known for {rules!r}") from None
