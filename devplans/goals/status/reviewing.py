"""What a review may say: the window since the last one against the starting point. Pure.

Change by `stats.change.claim` with its gates, at confidence 1 - .05 / k for k planned reviews, so
that a player who does not change is seldom called up or down in all of them together. Windows do
not overlap. Reps a week are a census: they are held against the start as they are, and within a
tenth of it they are the same (our own choice).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from devplans.goals.status.parts import Count
from devplans.stats import change

DAY = timedelta(days=1)
REPS_ALIKE = 0.1


@dataclass(frozen=True)
class Window:
    """The days of one review, both included; `number` of `of`, looked at on `on`."""

    number: int
    of: int
    on: date
    first: date
    last: date

    @property
    def confidence(self) -> float:
        return 1 - 0.05 / self.of


@dataclass(frozen=True)
class Finding:
    """What a review says. reason: which sentence belongs to it. low, high: interval of the
    difference, -1..1."""

    word: change.Word
    reason: str
    low: float | None = None
    high: float | None = None
    more_needed: int | None = None
    before: Count | None = None
    after: Count | None = None
    sessions: int = 0
    reps: int | None = None
    start_reps: int | None = None


UNSURE: change.Word = "not enough evidence yet"


def windows(started_on: date, days: Sequence[date]) -> list[Window]:
    """One for each review: from the day of the last one (the day the goal began) up to the day
    before this one."""
    found, first = [], started_on
    for number, day in enumerate(sorted(days), start=1):
        found.append(Window(number, len(days), day, first, day - DAY))
        first = day
    return found


def compare(
    start: Count | None,
    before: Sequence[Count],
    after: Sequence[Count],
    *,
    icc: float | None,
    confidence: float,
) -> Finding:
    """A share in the window against the starting point.

    start: made and tried of the starting point, None for none; before: its sessions, empty where
    it was typed in; after: the window's sessions.
    """
    counted = [one for one in after if one[1]]
    whole = (sum(made for made, _n in counted), sum(tried for _m, tried in counted))
    figures = {"before": start, "after": whole, "sessions": len(counted)}
    if not whole[1]:
        return Finding(UNSURE, "nothing", **figures)  # type: ignore[arg-type]
    if start is None or not start[1]:
        return Finding(UNSURE, "no_start", **figures)  # type: ignore[arg-type]
    claim = change.claim(before or [start], counted, icc=icc, confidence=confidence)
    reason = "claim"
    if claim.word == UNSURE:
        reason = _why_unsure(before, claim.more_needed, len(counted))
    return Finding(
        claim.word, reason, claim.low, claim.high,
        claim.more_needed if reason == "more" else None, **figures,  # type: ignore[arg-type]
    )  # fmt: skip


def _why_unsure(before: Sequence[Count], more: int | None, sessions: int) -> str:
    if not before:
        return "typed"
    if more is None or len(before) < change.LEAST_SESSIONS:
        return "small_start"
    if more == 0:
        return "few_sessions" if sessions < change.LEAST_SESSIONS else "between"
    return "more"


def compare_reps(start_reps: int | None, reps: Sequence[int]) -> Finding:
    """Reps of the window's complete weeks against those at the start, a week on average."""
    if not reps:
        return Finding(UNSURE, "no_weeks", start_reps=start_reps)
    average = round(sum(reps) / len(reps))
    if start_reps is None:
        return Finding(UNSURE, "no_start", reps=average)
    if abs(average - start_reps) <= REPS_ALIKE * start_reps:
        return Finding("same", "reps", reps=average, start_reps=start_reps)
    word: change.Word = "up" if average > start_reps else "down"
    return Finding(word, "reps", reps=average, start_reps=start_reps)
