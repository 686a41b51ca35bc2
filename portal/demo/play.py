"""Moves ten players and a ball through the script, one frame at a time."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, exp, hypot, pi, sin

from portal.demo.script import (
    AWAY,
    CLOCK_START_S,
    CLOCK_STOPPED_S,
    GUARDED_BY,
    HOME,
    LENGTH_S,
    POSSESSIONS,
    START_SCORE,
    Flight,
    Possession,
)

FPS = 20
FRAMES = int(LENGTH_S * FPS)

COURT_LENGTH_M, COURT_WIDTH_M = 28.0, 15.0
RING_M = 1.575
RING_HEIGHT_M = 3.05
TOP_SPEED = 6.6
BOUNCES_PER_S = 2.0
ARM_M = 0.5
PERSONAL_SPACE_M = 0.8

Point = tuple[float, float]


@dataclass(frozen=True)
class Figure:
    number: str
    x: float
    y: float
    speed: float
    stride: float
    arms_up: bool


@dataclass(frozen=True)
class Scene:
    """All that is drawn in one frame. Metres; x along the court from its middle, y away from us."""

    figures: tuple[Figure, ...]
    ball: tuple[float, float, float]
    clock_s: float
    score: tuple[int, int]
    watch_x: float
    sounds: tuple[str, ...]


def clock_at(film_s: float) -> float:
    """Seconds left in the period at a film time; the clock stands while the ball is dead."""
    stopped_from, stopped_to = CLOCK_STOPPED_S
    standing = min(max(film_s - stopped_from, 0.0), stopped_to - stopped_from)
    return CLOCK_START_S - film_s + standing


def score_at(film_s: float) -> tuple[int, int]:
    """(home, away) at a film time."""
    home, away = START_SCORE
    for possession in POSSESSIONS:
        for flight in possession.ball:
            if possession.start_s + flight.end <= film_s:
                home += flight.points if possession.home else 0
                away += 0 if possession.home else flight.points
    return home, away


def _on_court(possession: Possession, u: float, v: float) -> Point:
    way = 1 if possession.home else -1
    return (way * (COURT_LENGTH_M / 2 - u), COURT_WIDTH_M / 2 + way * v)


def _ring(possession: Possession) -> Point:
    return _on_court(possession, RING_M, 0.0)


def _waypoint(route: list[tuple[float, float, float]], at: float) -> tuple[float, float] | None:
    reached = [stop for stop in route if stop[0] <= at]
    return reached[-1][1:] if reached else None


class Play:
    """The state between two frames; `scenes` steps it through the whole film."""

    def __init__(self) -> None:
        self.at: dict[str, Point] = {}
        self.velocity: dict[str, Point] = dict.fromkeys(HOME + AWAY, (0.0, 0.0))
        self.stride: dict[str, float] = {number: int(number) * 0.7 for number in HOME + AWAY}
        self.holder = "12"
        self.ball = (0.0, 0.0, 1.0)
        self.thrown_from = self.ball
        self.flying: Flight | None = None
        self.watch_x = 8.0
        self._line_up()

    def _line_up(self) -> None:
        first = POSSESSIONS[0]
        for number, route in first.runs.items():
            self.at[number] = _on_court(first, *route[0][1:])
        for number in AWAY:
            self.at[number] = self._guarding(first, number, 0.0)

    def scenes(self) -> Iterator[Scene]:
        """Every frame's scene, in order."""
        for frame in range(FRAMES):
            film_s = frame / FPS
            possession = [row for row in POSSESSIONS if row.start_s <= film_s][-1]
            at = film_s - possession.start_s
            self._move_players(possession, at)
            sounds = self._move_ball(possession, at, film_s)
            lead = 3.0 if possession.home else -3.0
            self.watch_x += (self.ball[0] + lead - self.watch_x) * (1 - exp(-1.6 / FPS))
            yield Scene(
                tuple(self._figure(number, possession) for number in HOME + AWAY),
                self.ball,
                clock_at(film_s),
                score_at(film_s),
                self.watch_x,
                tuple(sounds),
            )

    def _figure(self, number: str, possession: Possession) -> Figure:
        speed = hypot(*self.velocity[number])
        x, y = self.at[number]
        shooting = self.flying is not None and self.flying.to == "ring"
        ring_x, ring_y = _ring(possession)
        near_shot = hypot(self.thrown_from[0] - x, self.thrown_from[1] - y) < 1.9
        under_ring = hypot(ring_x - x, ring_y - y) < 1.2
        return Figure(
            number, x, y, speed, self.stride[number], shooting and (near_shot or under_ring)
        )

    def _guarding(self, possession: Possession, number: str, at: float) -> Point:
        """Between the own player and the ring; further off, and nearer the ball, when it is far."""
        placed = _waypoint(possession.guards.get(number, []), at)
        if placed:
            return _on_court(possession, *placed)
        man_x, man_y = self.at[GUARDED_BY[number]]
        ring_x, ring_y = _ring(possession)
        from_ball = hypot(self.ball[0] - man_x, self.ball[1] - man_y)
        aim_x = 0.75 * ring_x + 0.25 * self.ball[0]
        aim_y = 0.75 * ring_y + 0.25 * self.ball[1]
        reach = hypot(aim_x - man_x, aim_y - man_y) or 1.0
        gap = min(1.1 + 0.24 * max(0.0, from_ball - 1.5), 3.6, reach)
        return (man_x + gap * (aim_x - man_x) / reach, man_y + gap * (aim_y - man_y) / reach)

    def _move_players(self, possession: Possession, at: float) -> None:
        attack = HOME if possession.home else AWAY
        for number in HOME + AWAY:
            if number in attack:
                spot = _waypoint(possession.runs[number], at)
                aim = _on_court(possession, *spot) if spot else self.at[number]
            else:
                aim = self._guarding(possession, number, at)
            self._chase(number, aim, at)
        self._keep_apart()

    def _chase(self, number: str, aim: Point, at: float) -> None:
        x, y = self.at[number]
        sway = 0.12 * sin(1.7 * at + int(number))
        want_x, want_y = (aim[0] + sway - x) * 2.6, (aim[1] - sway - y) * 2.6
        speed = hypot(want_x, want_y)
        if speed > TOP_SPEED:
            want_x, want_y = want_x * TOP_SPEED / speed, want_y * TOP_SPEED / speed
        grip = 1 - exp(-5.0 / FPS)
        old_x, old_y = self.velocity[number]
        new_x, new_y = old_x + (want_x - old_x) * grip, old_y + (want_y - old_y) * grip
        self.velocity[number] = (new_x, new_y)
        self.at[number] = (x + new_x / FPS, y + new_y / FPS)
        self.stride[number] += hypot(new_x, new_y) * 2.4 / FPS

    def _keep_apart(self) -> None:
        everyone = HOME + AWAY
        for index, one in enumerate(everyone):
            for other in everyone[index + 1 :]:
                (ax, ay), (bx, by) = self.at[one], self.at[other]
                gap = hypot(bx - ax, by - ay) or 0.01
                if gap < PERSONAL_SPACE_M:
                    push = (PERSONAL_SPACE_M - gap) / 2 / gap
                    self.at[one] = (ax - (bx - ax) * push, ay - (by - ay) * push)
                    self.at[other] = (bx + (bx - ax) * push, by + (by - ay) * push)

    def _move_ball(self, possession: Possession, at: float, film_s: float) -> list[str]:
        due = [flight for flight in possession.ball if flight.start <= at]
        flight = due[-1] if due else None
        if flight is not None and flight is not self.flying and at < flight.end:
            self.flying, self.thrown_from = flight, self.ball
        if self.flying is None:
            return self._dribble(film_s)
        share = (at - self.flying.start) / (self.flying.end - self.flying.start)
        # A flight may outlast its possession, whose clock then starts again.
        if share >= 1 or share < 0:
            return self._land(possession, self.flying)
        self._fly(possession, self.flying, share)
        return []

    def _fly(self, possession: Possession, flight: Flight, share: float) -> None:
        from_x, from_y, from_z = self.thrown_from
        to_x, to_y, to_z = self._goal(possession, flight)
        lift = 4 * flight.peak_m * share * (1 - share)
        self.ball = (
            from_x + (to_x - from_x) * share,
            from_y + (to_y - from_y) * share,
            from_z + (to_z - from_z) * share + lift,
        )

    def _goal(self, possession: Possession, flight: Flight) -> tuple[float, float, float]:
        ring_x, ring_y = _ring(possession)
        if flight.to == "ring":
            return (ring_x, ring_y, RING_HEIGHT_M)
        if flight.to == "floor":
            return (ring_x, ring_y, 0.15)
        if flight.to == "out":
            return (*_on_court(possession, 8.5, 8.2), 0.15)
        x, y = self.at[flight.to]
        return (x, y, 1.2)

    def _land(self, possession: Possession, flight: Flight) -> list[str]:
        self.ball = self._goal(possession, flight)
        self.flying = None
        if flight.to in self.at:
            self.holder = flight.to
            return []
        # Nobody has it: it stays where it is until the next flight takes it up.
        self.holder, self.thrown_from = "", self.ball
        if flight.to == "out":
            return ["whistle"]
        return ["net"] if flight.points else ["bounce"]

    def _dribble(self, film_s: float) -> list[str]:
        if not self.holder:
            return []
        x, y = self.at[self.holder]
        vx, vy = self.velocity[self.holder]
        speed = hypot(vx, vy)
        if speed < 0.9:
            self.ball = (x + ARM_M * 0.6, y - 0.2, 1.15)
            return []
        beat = film_s * BOUNCES_PER_S
        height = 0.14 + 0.85 * abs(cos(pi * beat))
        self.ball = (x + ARM_M * vx / speed, y + ARM_M * vy / speed - 0.15, height)
        crossed = int(beat + 0.5) != int(beat + 0.5 - BOUNCES_PER_S / FPS)
        return ["bounce"] if crossed else []
