"""What the demo coach says: the answer to each moment of the drawn film, and the plans he makes."""

from dataclasses import dataclass

# By skill: what to do instead where the habit was not there, and what he says where it was.
DO_INSTEAD = {
    "ball-screen-use": "Wait for contact, then shoulder to hip past the screen.",
    "pass-on-time": "The pass leaves while the help is still moving.",
    "closeout-technique": "Leave on the pass, not on the catch. Short steps, one hand high.",
    "run-the-floor": "First three steps flat out, wide of the ball.",
    "finish-one-foot": "Long last stride, eyes on the square, ball in the outside hand.",
    "offensive-rebound": "Go while the shot is in the air, on the inside shoulder.",
    "contain-ball": "Two slides with the chest in front before the hands do anything.",
    "contest-vertical": "Straight up, land where you took off.",
    "rebound-position": "Find a body first, then the ball with two hands.",
    "spacing": "Fewer than three big steps to a team-mate? Drift to the corner.",
    "screen-communication": "Name and side before contact, early, loud, twice.",
    "ball-reversal": "Hands ready before it comes; move it to the second side at once.",
    "finish-two-feet": "Long last dribble, both feet land together, then go up through contact.",
}
QUESTIONS = [
    ("How many steps away do I call it?", "When you can see the screener turn. About five steps."),
    (
        "Is it the same when I come from the left?",
        "Yes, same feet. Try it slowly first, then at speed.",
    ),
    ("Do I go even if the help is already there?", "No. Stop on two feet and find the corner."),
]


@dataclass(frozen=True)
class Plan:
    """A goal with its drill: how often it went in at the start, how fast that grows, and by how
    much at once (invented). sessions: over how many the start was counted; none: it was typed
    in."""

    skill: str
    measure: str
    drill: str
    start: tuple[int, int]
    target: float
    growth: float
    weekly: int
    words: str
    gain: float = 0.0
    sessions: int = 0


PLANS: dict[str, list[Plan]] = {
    "12": [
        Plan(
            "finish-two-feet",
            "drill_share",
            "two-foot-power-layups",
            (66, 160),
            0.6,
            0.005,
            120,
            "Land on two feet and finish through contact",
            gain=0.2,
            sessions=5,
        ),
        Plan(
            "screen-communication",
            "film_rate",
            "early-loud-twice",
            (0, 0),
            0.7,
            0,
            60,
            "Call every screen before it arrives",
        ),
    ],
    "4": [
        Plan(
            "closeout-technique",
            "film_rate",
            "solo-closeouts",
            (0, 0),
            0.7,
            0,
            60,
            "Leave on the pass",
        )
    ],
    "7": [
        Plan(
            "finish-one-foot",
            "drill_share",
            "outside-hand-stretch",
            (19, 40),
            0.7,
            0.02,
            64,
            "Finish with the outside hand at speed",
        )
    ],
    "14": [
        Plan(
            "free-throws",
            "drill_share",
            "free-throw-sets",
            (31, 60),
            0.7,
            0.015,
            60,
            "Same routine, every time",
        )
    ],
    "23": [
        Plan(
            "pass-on-time",
            "reps_per_week",
            "wall-targets",
            (0, 0),
            0,
            0,
            150,
            "The ball leaves early",
        ),
        Plan(
            "catch-and-shoot",
            "drill_share",
            "five-spot-shooting",
            (41, 100),
            0.5,
            0.01,
            100,
            "Feet ready before the ball",
        ),
    ],
    "9": [
        Plan(
            "catch-and-shoot",
            "drill_share",
            "five-spot-shooting",
            (38, 100),
            0.5,
            0.012,
            100,
            "Hold the follow-through",
        )
    ],
    "21": [
        Plan(
            "finish-weak-hand",
            "drill_share",
            "weak-hand-layups",
            (15, 40),
            0.6,
            0.02,
            80,
            "Left hand, eyes on the square",
        )
    ],
}
