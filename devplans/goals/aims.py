"""What a goal aims at, and the rules for it. Knows no database."""

from dataclasses import dataclass, fields
from datetime import date, timedelta
from math import ceil
from typing import Any

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError

MOST_LIVE = 3
MOST_REVIEWS = 5
REVIEW_EVERY = timedelta(weeks=4)
LONGEST = timedelta(days=366)
ROUNDING = 1e-6
FILM_RATE, DRILL_SHARE, REPS_PER_WEEK = "film_rate", "drill_share", "reps_per_week"
ZONE_SHARE, DRILL_MARK = "zone_share", "drill_mark"
NO_DRILL = (FILM_RATE, ZONE_SHARE)
# Fixed while a goal is live: to change them would be to move the goal posts.
FIXED_WHILE_LIVE = (
    "skill", "measure", "drill", "zone", "mark_kind", "mark",
    "start_made", "start_tried", "start_reps", "due_on",
)  # fmt: skip


@dataclass(frozen=True)
class Aim:
    """Skill, measure, starting point, target and due date of one goal. Shares are 0..1."""

    skill: Any
    measure: str
    due_on: date
    drill: Any = None
    zone: str = ""
    mark_kind: str = ""
    mark: int | None = None
    words: str = ""
    start_made: int | None = None
    start_tried: int | None = None
    start_reps: int | None = None
    target_share: float | None = None
    target_reps: int | None = None
    chances_needed: int | None = None

    def as_fields(self) -> dict[str, Any]:
        return {one.name: getattr(self, one.name) for one in fields(self)}


def cleared(aim: Aim) -> Aim:
    """The aim without the figures that its measure has no use for."""
    kept = aim.as_fields()
    if aim.measure == REPS_PER_WEEK:
        kept |= {"start_made": None, "start_tried": None, "target_share": None}
    else:
        kept |= {"start_reps": None, "target_reps": None}
    if aim.measure in NO_DRILL:
        kept["drill"] = None
    if aim.measure != ZONE_SHARE:
        kept["zone"] = ""
    if aim.measure != DRILL_MARK:
        kept |= {"mark_kind": "", "mark": None}
    if aim.measure == REPS_PER_WEEK:
        kept["chances_needed"] = None
    return Aim(**kept)


def check(aim: Aim, today: date) -> None:
    """Raise DomainError for the first thing that cannot be a goal."""
    if aim.measure not in NO_DRILL and aim.drill is None:
        raise DomainError(
            "goal.drill", _("Choose the drill in which it is counted."), field="drill"
        )
    if aim.measure == ZONE_SHARE and not aim.zone:
        raise DomainError("goal.zone", _("Choose the zone from which it is counted."), field="zone")
    if aim.measure == DRILL_MARK:
        _check_mark(aim)
    check_target(aim)
    if not today < aim.due_on <= today + LONGEST:
        raise DomainError("goal.due", _("The due date lies ahead, within a year."), field="due_on")


def check_target(aim: Aim) -> None:
    """Raise DomainError unless target and starting point make sense for the measure."""
    if aim.measure == REPS_PER_WEEK:
        _check_reps(aim)
    else:
        _check_share(aim)


def _check_reps(aim: Aim) -> None:
    if not aim.target_reps:
        raise DomainError("goal.target", _("How many reps a week?"), field="target_reps")


def _check_mark(aim: Aim) -> None:
    if not aim.mark_kind:
        words = _("Say what a set has to reach: seconds or makes.")
        raise DomainError("goal.mark", words, field="mark_kind")
    if not aim.mark:
        raise DomainError("goal.mark", _("How many seconds or makes?"), field="mark")


def _check_share(aim: Aim) -> None:
    if aim.target_share is None or not 0 < aim.target_share <= 1:
        raise DomainError("goal.target", _("A target from 1 to 100 %."), field="target_percent")
    if abs(aim.target_share * 100 - round(aim.target_share * 100)) > ROUNDING:
        raise DomainError("goal.target", _("A target in whole percent."), field="target_percent")
    if (aim.start_made is None) != (aim.start_tried is None):
        raise DomainError("goal.start", _("Made and tried come together."), field="start_made")
    if aim.start_made is not None and aim.start_made > (aim.start_tried or 0):
        raise DomainError("goal.start", _("More made than tried."), field="start_made")


def review_dates(start: date, due: date) -> list[date]:
    """Every four weeks up to the due date, which is the last; five evenly spaced ones at most.

    Raises ValueError unless `due` comes after `start`.
    """
    days = (due - start).days
    if days <= 0:
        raise ValueError(f"{due} does not come after {start}")
    reviews = ceil(days / REVIEW_EVERY.days)
    if reviews > MOST_REVIEWS:
        return [
            start + timedelta(days=round(days * n / MOST_REVIEWS))
            for n in range(1, MOST_REVIEWS + 1)
        ]
    return [start + REVIEW_EVERY * n for n in range(1, reviews)] + [due]
