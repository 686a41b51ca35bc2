"""What happens in the drawn film: seven possessions, written down like a coach's play sheet.

Places are (u, v) in metres as the attacking side sees them: u from the baseline it attacks,
v across the court from the middle. Times are seconds from the start of the possession.
"""

from dataclasses import dataclass, field

HOME = ("4", "7", "12", "14", "23")
AWAY = ("6", "8", "15", "21", "30")
GUARDS = {"12": "6", "4": "8", "7": "15", "14": "30", "23": "21"}
GUARDED_BY = GUARDS | {away: home for home, away in GUARDS.items()}

LENGTH_S = 90.0
PERIOD = 2
CLOCK_START_S = 331.0
# The clock stands from the ball going out until it is thrown in again.
CLOCK_STOPPED_S = (62.1, 68.0)
START_SCORE = (27, 25)

Waypoints = list[tuple[float, float, float]]


@dataclass(frozen=True)
class Flight:
    """The ball in the air, from where it is at `start` to a player or the ring at `end`."""

    start: float
    end: float
    to: str  # a number, "ring", "floor" or "out"
    peak_m: float = 0.3
    points: int = 0


@dataclass(frozen=True)
class Possession:
    start_s: float
    home: bool
    ball: list[Flight]
    runs: dict[str, Waypoints]
    guards: dict[str, Waypoints] = field(default_factory=dict)


@dataclass(frozen=True)
class Moment:
    """A stretch of the film worth a comment. `numbers` are home players, text without a `#`."""

    start_ms: int
    end_ms: int
    numbers: tuple[str, ...]
    skill: str
    went_well: bool
    happens: str


def passes(start: float, to: str) -> Flight:
    return Flight(start, start + 0.6, to)


def shot(start: float, *, points: int = 0) -> Flight:
    return Flight(start, start + 1.1, "ring", 2.2, points)


def layup(start: float, *, points: int = 0) -> Flight:
    return Flight(start, start + 0.6, "ring", 0.7, points)


def loose(start: float, to: str) -> Flight:
    return Flight(start, start + 0.8, to, 0.8)


def drop(start: float) -> Flight:
    return Flight(start, start + 0.4, "floor", 0.0)


POSSESSIONS = [
    Possession(
        0.0,
        True,
        [passes(6.1, "4"), shot(7.4, points=3), drop(8.5), loose(9.3, "30"), passes(10.6, "6")],
        {
            "12": [(0, 9.5, 0.5), (2.4, 8.2, -2.2), (4.0, 5.2, -1.6), (5.4, 3.4, -0.8)],
            "14": [(0, 4.5, 2.4), (1.0, 7.9, -0.6), (4.2, 3.0, 2.0)],
            "4": [(0, 2.4, -6.7)],
            "7": [(0, 6.6, 5.6), (5.0, 7.4, 4.2)],
            "23": [(0, 2.0, 6.6)],
        },
        {"8": [(4.6, 3.4, -3.0), (6.4, 2.6, -5.6)]},
    ),
    Possession(
        12.0,
        False,
        [passes(5.2, "15"), passes(7.0, "8"), shot(8.6, points=3), drop(9.7), loose(10.4, "14")],
        {
            "6": [(0, 22.0, 0), (1.4, 12.0, 0.5), (3.4, 8.6, 0.4), (6.4, 8.8, 2.4)],
            "15": [(0, 8.0, 5.4), (3.0, 6.2, 5.5), (5.8, 5.4, 4.4)],
            "8": [(0, 7.0, -6.2), (2.8, 2.2, -6.8)],
            "21": [(0, 8.0, -2.0), (3.0, 3.0, 2.4), (6.6, 2.6, 3.2)],
            "30": [(0, 16.0, 2.0), (2.8, 5.8, -2.4)],
        },
        {"4": [(2.8, 3.0, 1.0), (7.6, 2.6, -2.6), (8.4, 2.4, -5.4)]},
    ),
    Possession(
        24.0,
        True,
        [
            passes(0.9, "12"),
            passes(2.2, "7"),
            layup(5.4),
            loose(6.0, "14"),
            layup(7.6, points=2),
            drop(8.2),
            loose(9.2, "21"),
            passes(10.5, "6"),
        ],
        {
            "12": [(0, 20.0, -1.0), (1.6, 12.0, -1.5), (4.6, 8.6, -1.4)],
            "7": [(0, 12.0, 4.5), (2.6, 7.0, 3.8), (3.6, 2.4, 1.0)],
            "14": [(0, 19.0, 1.0), (1.6, 8.0, 0.8), (4.4, 2.4, -0.9)],
            "4": [(0, 12.0, -6.0), (3.0, 3.0, -6.4)],
            "23": [(0, 14.0, 3.0), (3.0, 7.6, 5.6)],
        },
        {"15": [(0, 9.0, 2.4), (3.4, 1.9, 0.0)], "30": [(4.2, 4.6, -1.6)]},
    ),
    Possession(
        36.0,
        False,
        [
            passes(5.0, "15"),
            passes(8.2, "21"),
            shot(9.6),
            loose(10.7, "23"),
        ],
        {
            "6": [(0, 20.0, 0), (1.0, 11.0, -0.5), (3.4, 8.8, -0.4), (6.2, 8.4, -3.6)],
            "15": [(0, 9.0, 4.6), (3.0, 7.2, 3.8), (5.8, 5.0, 3.2), (6.8, 5.6, 3.9)],
            "8": [(0, 8.0, -6.0), (3.0, 2.4, -6.7)],
            "21": [(0, 13.0, -1.0), (3.2, 2.6, 2.0), (7.6, 3.2, 1.5)],
            "30": [(0, 10.0, 1.0), (3.2, 4.8, -2.6)],
        },
        {"14": [(8.4, 2.2, 0.9)], "23": [(9.0, 3.0, 0.3), (10.2, 3.0, -0.6)]},
    ),
    Possession(
        48.5,
        True,
        [passes(0.8, "12"), passes(6.6, "4"), passes(9.0, "23"), Flight(12.6, 13.6, "out")],
        {
            "12": [(0, 20.0, 0.0), (1.4, 11.0, 1.5), (4.2, 8.6, 1.4), (9.5, 8.8, 0.8)],
            "4": [(0, 12.0, -5.5), (3.4, 6.4, -5.6), (7.4, 5.6, -5.0)],
            "23": [(0, 16.0, -3.0), (3.6, 5.2, -4.2), (9.6, 6.6, -3.4)],
            "7": [(0, 12.0, 5.5), (3.2, 6.0, 5.7)],
            "14": [(0, 14.0, 1.0), (3.4, 2.6, 2.0), (8.0, 5.6, 2.3)],
        },
        {"15": [(11.5, 7.2, 0.6)]},
    ),
    Possession(
        64.0,
        False,
        [
            Flight(0.0, 1.6, "6", 0.1),
            passes(4.0, "30"),
            passes(5.4, "6"),
            layup(10.4, points=2),
            drop(11.0),
            loose(11.7, "14"),
        ],
        {
            "6": [
                (0, 19.5, -7.6),
                (4.5, 12.0, -1.5),
                (6.6, 8.8, 0.2),
                (8.4, 7.6, 2.6),
                (9.0, 2.6, 0.9),
            ],
            "30": [(0, 15.0, -4.5), (5.8, 7.2, -0.6), (6.8, 8.0, 1.4), (9.2, 6.0, -1.8)],
            "15": [(0, 11.0, -4.4), (5.0, 6.4, -5.6)],
            "8": [(0, 13.0, -6.0), (5.0, 2.2, -6.7)],
            "21": [(0, 12.0, 3.5), (5.0, 2.2, 6.4)],
        },
        {"12": [(7.6, 8.9, 0.7), (9.4, 5.6, 1.4)], "14": [(7.4, 8.4, 2.6), (9.4, 5.4, -0.8)]},
    ),
    Possession(
        76.5,
        True,
        [
            passes(0.9, "12"),
            passes(4.6, "7"),
            passes(6.0, "23"),
            layup(9.2, points=2),
            drop(9.8),
            loose(11.0, "30"),
        ],
        {
            "12": [(0, 19.0, 0.0), (1.4, 10.0, 2.6), (3.6, 8.2, 3.4), (5.6, 7.6, 4.4)],
            "7": [(0, 14.0, 1.0), (2.6, 8.9, -0.4)],
            "23": [(0, 13.0, -5.0), (2.8, 6.4, -5.4), (7.0, 5.0, -2.6), (7.9, 2.5, -0.9)],
            "4": [(0, 12.0, 6.0), (3.0, 2.2, 6.7)],
            "14": [(0, 16.0, 1.5), (3.2, 2.8, 2.3)],
        },
        {"21": [(5.6, 4.6, -2.6), (7.0, 5.9, -4.6), (8.0, 3.6, -2.4)]},
    ),
]

MOMENTS = [
    Moment(
        2_000,
        5_500,
        ("12",),
        "ball-screen-use",
        True,
        "Waits for the screen, shoulder to hip past it, gets two feet into the key.",
    ),
    Moment(
        5_500,
        8_600,
        ("12", "4"),
        "pass-on-time",
        True,
        "The corner defender helps; the pass leaves at once and the shooter is ready.",
    ),
    Moment(
        18_500,
        21_800,
        ("4",),
        "closeout-technique",
        False,
        "Deep in the key when the ball swings to the corner; arrives after the shot is up.",
    ),
    Moment(
        25_000,
        29_400,
        ("7",),
        "run-the-floor",
        True,
        "First three steps flat out, wide of the ball, catches ahead of everyone.",
    ),
    Moment(
        29_200,
        30_400,
        ("7",),
        "finish-one-foot",
        False,
        "Alone at the rim at full speed, and the layup comes off the front of the ring.",
    ),
    Moment(
        29_600,
        32_400,
        ("14",),
        "offensive-rebound",
        True,
        "Goes while the shot is in the air, takes the inside and finishes.",
    ),
    Moment(
        40_800,
        44_200,
        ("7",),
        "contain-ball",
        True,
        "Chest in front for two slides, the drive stops and the ball goes back out.",
    ),
    Moment(
        44_200,
        46_800,
        ("14",),
        "contest-vertical",
        True,
        "Straight up in front of the shooter, lands on the spot, no foul.",
    ),
    Moment(
        45_400,
        47_800,
        ("23",),
        "rebound-position",
        True,
        "Finds a body first, then takes the ball with two hands.",
    ),
    Moment(
        52_500,
        58_000,
        ("4", "23"),
        "spacing",
        False,
        "Two players within three steps on one wing; one defender guards both.",
    ),
    Moment(
        58_000,
        62_200,
        ("23",),
        "pass-on-time",
        False,
        "Holds the ball while the window closes; the pass across is cut off and goes out.",
    ),
    Moment(
        70_800,
        74_800,
        ("12", "14"),
        "screen-communication",
        False,
        "Nobody calls the screen, both go with the screener, the ball walks to the rim.",
    ),
    Moment(
        81_000,
        83_200,
        ("7",),
        "ball-reversal",
        True,
        "Catches ready and moves it to the second side before the defence is set.",
    ),
    Moment(
        82_400,
        86_600,
        ("23",),
        "finish-two-feet",
        True,
        "Sweeps past the late closeout, lands on two feet and goes up through contact.",
    ),
]
