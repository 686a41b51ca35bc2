"""What the status of a goal is told from, and what is told. Knows no database and no language."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any, Literal, TypeAlias, get_args

Word = Literal[
    "met", "on the way", "could go either way", "behind", "missed", "not enough evidence yet"
]
# In the order in which pages and mails name them: from the best for a player to the worst; the last
# one says nothing.
WORDS: tuple[Word, ...] = get_args(Word)
SETTLED: frozenset[Word] = frozenset({"met", "missed"})

FILM_RATE, DRILL_SHARE, REPS_PER_WEEK = "film_rate", "drill_share", "reps_per_week"
ZONE_SHARE, DRILL_MARK = "zone_share", "drill_mark"

Count: TypeAlias = tuple[int, int]


@dataclass(frozen=True)
class Session:
    """What was made and tried on one day of a drill, or on one film."""

    on: date
    made: int
    tried: int

    @property
    def count(self) -> Count:
        return self.made, self.tried


@dataclass(frozen=True)
class Facts:
    """One goal. target: 0..1. pauses: (first day, last day or None while it lasts).

    left_on: the day on which the player left his last squad. closed_on counts for a closed goal
    only. target_since: the day on which the target was changed, target_was: what it was before (a
    share 0..1 or reps).
    """

    measure: str
    life: str
    name: str
    due_on: date
    started_on: date | None = None
    closed_on: date | None = None
    target: float | None = None
    target_reps: int | None = None
    chances_needed: int | None = None
    start_reps: int | None = None
    target_since: date | None = None
    target_was: float | None = None
    pauses: tuple[tuple[date, date | None], ...] = ()
    left_on: date | None = None

    @property
    def paused_on(self) -> date | None:
        return next((first for first, last in self.pauses if last is None), None)

    @property
    def window_ends_on(self) -> date:
        if self.life == "closed" and self.closed_on is not None:
            return min(self.closed_on, self.due_on)
        return self.due_on


@dataclass(frozen=True)
class Sample:
    """A sampled count of one film: low and high are where a full count of it would lie."""

    made: int
    tried: int
    low: float
    high: float


@dataclass(frozen=True)
class Evidence:
    """What was counted for one goal, from some weeks before it began until now.

    sessions: the oldest first; of films those of one coach only. reps: by the Monday of the week.
    icc: how alike the tries of one session are in this squad, None where too little tells. sample:
    where no whole film was counted since the goal began. source: where the count comes from and
    whose it is, in words.
    """

    sessions: tuple[Session, ...] = ()
    reps: Mapping[date, int] = field(default_factory=dict)
    icc: float | None = None
    sample: Sample | None = None
    source: str = ""


@dataclass(frozen=True)
class Ruling:
    """One word and what it comes from; `reason` says which sentence belongs to it.

    made, tried: since the goal began. needed, left: so many of so many further tries reach the
    target. first: of the tries that the goal asks for, where they have met it. level, level_weeks:
    the latest tries and how many weeks they go back. more: what would settle it, in tries, sessions
    or weeks, as the reason has it. reps, weeks: average over so many complete weeks. a_week: reps
    that each week left would need; usual, best: what lately was done.
    """

    word: Word
    reason: str
    made: int = 0
    tried: int = 0
    needed: int = 0
    left: int = 0
    level: Count = (0, 0)
    first: Count = (0, 0)
    level_weeks: int = 0
    effect: float = 1.0
    chance: float | None = None
    more: int = 0
    reps: float | None = None
    weeks: int = 0
    a_week: int = 0
    usual: float = 0
    best: int = 0
    weeks_left: int = 0


@dataclass(frozen=True)
class ReviewFacts:
    """A review as it was written. low, high: of the difference to the starting point, -1..1."""

    number: int
    of: int
    reviewed_on: date
    window_from: date
    window_until: date
    word: str
    label: str
    sentence: str
    low: float | None
    high: float | None
    made: int | None
    tried: int | None
    start_made: int | None
    start_tried: int | None
    reps: int | None
    start_reps: int | None
    confidence: float
    more_needed: int | None


@dataclass(frozen=True)
class Standing:
    """Where a goal stands, in words and in figures.

    word: one of `WORDS`, label: the same in the reader's language; sentence: why; settles: what
    would settle it, "" where it is settled. made, tried: counted since the goal began; low, high:
    where the long-run share may lie (a sampled film: where its full count would), 0..1, None where
    nothing was tried. target: 0..1. reps: a week on average, over `weeks` complete weeks. source:
    what is counted, and for film by whom.
    """

    word: Word
    label: str
    sentence: str
    settles: str
    measure: str
    source: str
    made: int = 0
    tried: int = 0
    low: float | None = None
    high: float | None = None
    start_made: int | None = None
    start_tried: int | None = None
    start_low: float | None = None
    start_high: float | None = None
    target: float | None = None
    target_reps: int | None = None
    reps: int | None = None
    start_reps: int | None = None
    weeks: int = 0
    next_review: date | None = None
    last_review: ReviewFacts | None = None

    @property
    def is_settled(self) -> bool:
        return self.word in SETTLED

    def as_facts(self) -> dict[str, Any]:
        """The same as JSON values: days as ISO text."""
        found = asdict(self) | {"is_settled": self.is_settled}
        if self.last_review is not None:
            found["last_review"] = _plain(found["last_review"])
        return _plain(found)


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in values.items()
    }
