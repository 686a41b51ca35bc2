"""Made and tried, by zone, spot, drill and week. Knows no database; zones are told on reading."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from devplans.stats import weeks
from devplans.stats.court import ZONES, Zone
from devplans.stats.court import zone as told_zone
from devplans.stats.court_spots import BY_DRILL, LINE, spot_of, spots_of
from devplans.stats.proportions import share, wilson_interval

FREE_THROW = "free-throw"
ELSEWHERE = "elsewhere"
# Free throws are no shots from the floor, though they are taken from the edge of the key.
ORDER = (FREE_THROW, *ZONES)


@dataclass(frozen=True)
class Taken:
    """One shot with its place in millimetres, the slug of its drill ("": none) and its week."""

    x_mm: int
    y_mm: int
    made: bool
    drill: str
    week: weeks.Week


@dataclass(frozen=True)
class Counted:
    """A set of which the counts are known and the places are not."""

    made: int
    tried: int
    drill: str
    week: weeks.Week


@dataclass
class Line:
    """One line of a table: made of tried under a name; `key` is stable, the words come later."""

    key: str
    made: int = 0
    tried: int = 0

    def add(self, made: int, tried: int) -> None:
        self.made += made
        self.tried += tried

    @property
    def share(self) -> float | None:
        return share(self.made, self.tried)

    @property
    def interval(self) -> tuple[float, float] | None:
        """The Wilson interval of the share; None where nothing was tried."""
        return wilson_interval(self.made, self.tried) if self.tried else None


@dataclass
class WeekLine(Line):
    week: weeks.Week = (1, 1)
    is_current: bool = False


@dataclass
class SpotTable:
    """The spots of one drill, left to right, and the shots of it that were near none."""

    drill: str
    lines: list[Line] = field(default_factory=list)


@lru_cache(maxsize=20_000)
def _zone(x_mm: int, y_mm: int, rules: str) -> Zone:
    return told_zone(x_mm, y_mm, rules=rules)


def zone_of(shot: Taken, rules: str) -> str:
    """One of `ORDER`. rules: fiba, nba, ncaa or nfhs."""
    if BY_DRILL.get(shot.drill) == LINE:
        return FREE_THROW
    return _zone(shot.x_mm, shot.y_mm, rules).name


def by_zone(shots: Iterable[Taken], rules: str) -> list[Line]:
    """The zones from which something was tried: free throws, then from the ring outward."""
    found: dict[str, Line] = {}
    for shot in shots:
        key = zone_of(shot, rules)
        found.setdefault(key, Line(key)).add(int(shot.made), 1)
    return [found[key] for key in ORDER if key in found]


def by_points(shots: Iterable[Taken], rules: str) -> list[Line]:
    """All twos and all threes, where any were tried; free throws are neither."""
    twos, threes = Line("twos"), Line("threes")
    for shot in shots:
        if zone_of(shot, rules) == FREE_THROW:
            continue
        points = _zone(shot.x_mm, shot.y_mm, rules).points
        if points is not None:
            (twos if points == 2 else threes).add(int(shot.made), 1)
    return [line for line in (twos, threes) if line.tried]


def by_spot(shots: Iterable[Taken], rules: str) -> list[SpotTable]:
    """For each drill with preset spots: every spot, tried from or not, and what was elsewhere."""
    of_drill: dict[str, list[Taken]] = {}
    for shot in shots:
        if shot.drill in BY_DRILL:
            of_drill.setdefault(shot.drill, []).append(shot)
    return [_spots(drill, taken, rules) for drill, taken in sorted(of_drill.items())]


def _spots(drill: str, shots: Sequence[Taken], rules: str) -> SpotTable:
    spots = spots_of(drill, rules=rules)
    lines = {spot.name: Line(spot.name) for spot in spots}
    elsewhere = Line(ELSEWHERE)
    for shot in shots:
        spot = spot_of(shot.x_mm, shot.y_mm, spots)
        (lines[spot.name] if spot else elsewhere).add(int(shot.made), 1)
    return SpotTable(drill, [*lines.values(), *([elsewhere] if elsewhere.tried else [])])


def by_drill(shots: Iterable[Taken], sets: Iterable[Counted]) -> list[Line]:
    """Placed shots and counted sets by the drill's slug, most tried first; "" is no drill."""
    found: dict[str, Line] = {}
    for shot in shots:
        found.setdefault(shot.drill, Line(shot.drill)).add(int(shot.made), 1)
    for one in sets:
        found.setdefault(one.drill, Line(one.drill)).add(one.made, one.tried)
    return sorted(found.values(), key=lambda line: (-line.tried, line.key))


def by_week(
    shots: Iterable[Taken],
    sets: Iterable[Counted],
    shown: Sequence[weeks.Week],
    now_week: weeks.Week,
) -> list[WeekLine]:
    """The weeks of `shown` in their order, those without a shot too."""
    found = {
        week: WeekLine(weeks.format_label(week), week=week, is_current=week == now_week)
        for week in shown
    }
    for shot in shots:
        found[shot.week].add(int(shot.made), 1)
    for one in sets:
        found[one.week].add(one.made, one.tried)
    return list(found.values())


def total(shots: Iterable[Taken], sets: Iterable[Counted]) -> Line:
    line = Line("total")
    for shot in shots:
        line.add(int(shot.made), 1)
    for one in sets:
        line.add(one.made, one.tried)
    return line
