"""The word for reps a week: a census of what was done, so there is no interval and no chance.

It is held against the average over the complete weeks from the first one after the goal began to
the last one before the due date is over. Weeks in which the goal was paused count only where the
target was reached in them.
"""

from collections.abc import Mapping
from datetime import date, timedelta
from statistics import median
from typing import Any

from devplans.goals.status.parts import Evidence, Facts, Ruling, Word
from devplans.goals.status.shares import LEVEL_WEEKS, UNSURE, WEEK, monday_of

LEAST_WEEKS = 2


def rule(goal: Facts, evidence: Evidence, today: date) -> Ruling:
    """The status of reps a week on `today`, a day on the club's calendar."""
    if goal.started_on is None or goal.life == "draft":
        return Ruling(UNSURE, "draft")
    target = goal.target_reps or 0
    counting = counting_weeks(goal, evidence.reps, goal.window_ends_on)
    over = [week for week in counting if week + WEEK <= today]
    done = [evidence.reps.get(week, 0) for week in over]
    average = sum(done) / len(done) if done else None
    counts: dict[str, Any] = {"reps": average, "weeks": len(done)}
    ahead = len(counting) - len(over)
    if today > goal.due_on or goal.life == "closed":
        return _result(goal, counts, target)
    if goal.left_on is not None and goal.left_on <= today:
        return Ruling(UNSURE, "left", **counts)
    if goal.life == "paused":
        return Ruling(UNSURE, "paused", **counts)
    if len(done) < LEAST_WEEKS:
        more = LEAST_WEEKS - len(done)
        return Ruling(UNSURE, "few_weeks", more=more, **counts)
    missing = target * len(counting) - sum(done)
    if missing <= 0:
        return Ruling("met", "reps_met", **counts)
    if not ahead:
        return Ruling("behind", "reps_no_week_left", **counts)
    lately = done[-LEVEL_WEEKS[-1] :]
    a_week, usual, best = -(-missing // ahead), float(median(lately)), max(lately)
    return Ruling(
        _word(a_week, usual, best), "reps", a_week=a_week, usual=usual, best=best,
        weeks_left=ahead, **counts,
    )  # fmt: skip


def counting_weeks(goal: Facts, reps: Mapping[date, int], end: date) -> list[date]:
    """The Mondays of the weeks that lie between the day the goal began and `end`, both included."""
    if goal.started_on is None:
        return []
    monday = monday_of(goal.started_on)
    if monday < goal.started_on:
        monday += WEEK
    found = []
    while monday + timedelta(days=6) <= end:
        if not _is_paused(goal, monday) or reps.get(monday, 0) >= (goal.target_reps or 0):
            found.append(monday)
        monday += WEEK
    return found


def _is_paused(goal: Facts, monday: date) -> bool:
    sunday = monday + timedelta(days=6)
    return any(first <= sunday and (last is None or last >= monday) for first, last in goal.pauses)


def _word(a_week: int, usual: float, best: int) -> Word:
    if a_week <= usual:
        return "on the way"
    return "could go either way" if a_week <= best else "behind"


def _result(goal: Facts, counts: dict[str, Any], target: int) -> Ruling:
    average, weeks = counts["reps"], counts["weeks"] or 0
    if average is None or weeks < LEAST_WEEKS:
        return Ruling(UNSURE, "due_few_weeks", **counts)
    if average >= target:
        return Ruling("met", "reps_met", **counts)
    if goal.life == "closed" and goal.closed_on is not None and goal.closed_on < goal.due_on:
        return Ruling(UNSURE, "closed_early", **counts)
    return Ruling("missed", "reps_missed", **counts)
