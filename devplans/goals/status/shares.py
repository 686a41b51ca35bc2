"""The word for a share: T % of M tries between the day a goal began and its due date.

Method: beta-binomial posterior predictive from the latest tries, no trend drawn out (see
`stats.forecast`). M is the number of tries that the goal asks for; where it asks for none, or that
many are there and the target is not, the tries so far and as many more as the usual week brings.
The limits .80 and .20 and the least number of tries are our own choice.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from statistics import median
from typing import Any

from devplans.goals.status.parts import Evidence, Facts, Ruling, Session, Word
from devplans.stats import change
from devplans.stats.forecast import chance_of, makes_needed

UNSURE: Word = "not enough evidence yet"
LIKELY, UNLIKELY = 0.80, 0.20
LEAST_TRIED = 20
# The level is told from the first of these spans of weeks that holds enough tries.
LEVEL_WEEKS = (4, 6)
WEEK = timedelta(weeks=1)


def rule(goal: Facts, evidence: Evidence, today: date) -> Ruling:
    """The status of a share on `today`, a day on the club's calendar."""
    if goal.started_on is None or goal.life == "draft":
        return Ruling(UNSURE, "draft")
    if evidence.sample is not None:
        count = evidence.sample
        return Ruling(UNSURE, "sample", made=count.made, tried=count.tried)
    end = min(goal.window_ends_on, today)
    window = [one for one in evidence.sessions if goal.started_on <= one.on <= end]
    made, tried = _sum(window)
    if today > goal.due_on:
        return _result(goal, made, tried, window)
    if done := _met_at_needed(goal, window):
        return Ruling("met", "met", made=made, tried=tried, first=done)
    if goal.life == "closed":
        return Ruling(UNSURE, "closed_early", made=made, tried=tried)
    if goal.left_on is not None and goal.left_on <= today:
        return Ruling(UNSURE, "left", made=made, tried=tried)
    if goal.life == "paused":
        return Ruling(UNSURE, "paused", made=made, tried=tried)
    return _forecast(goal, evidence, today, made, tried)


def _sum(sessions: Sequence[Session]) -> tuple[int, int]:
    return sum(one.made for one in sessions), sum(one.tried for one in sessions)


def makes_for(goal: Facts, attempts: int) -> int:
    """The fewest makes that are the target's share of `attempts`."""
    return makes_needed(round(100 * (goal.target or 0)), attempts)


def _met_at_needed(goal: Facts, window: Sequence[Session]) -> tuple[int, int] | None:
    """(made, tried) once the makes of the tries that the goal asks for are there, or at the end of
    the session in which that many tries were reached. What comes after takes nothing away."""
    if not goal.chances_needed:
        return None
    made = tried = 0
    for one in window:
        made, tried = made + one.made, tried + one.tried
        if made >= makes_for(goal, max(goal.chances_needed, tried)):
            return made, tried
        if tried >= goal.chances_needed:
            return None
    return None


def _result(goal: Facts, made: int, tried: int, window: Sequence[Session]) -> Ruling:
    """The due date is over: no forecast."""
    if done := _met_at_needed(goal, window):
        return Ruling("met", "met", made=made, tried=tried, first=done)
    asked = goal.chances_needed or LEAST_TRIED
    needed = makes_for(goal, max(asked, tried)) - made
    left = max(0, asked - tried)
    counts: dict[str, Any] = {
        "made": made, "tried": tried, "needed": max(0, needed), "left": left
    }  # fmt: skip
    if goal.life == "closed" and goal.closed_on is not None and goal.closed_on < goal.due_on:
        word: Word = "met" if needed <= 0 else UNSURE
        return Ruling(word, "met" if needed <= 0 else "closed_early", made=made, tried=tried)
    if needed <= 0:
        return Ruling("met", "met", made=made, tried=tried)
    if goal.chances_needed and needed > left > 0:
        return Ruling("missed", "missed_short", **counts)
    if left:
        return Ruling(UNSURE, "due_few", more=left, **counts)
    return Ruling("missed", "missed", **counts)


def _forecast(goal: Facts, evidence: Evidence, today: date, made: int, tried: int) -> Ruling:
    weeks, level = level_of(evidence.sessions, today)
    counted = (sum(m for m, _n in level), sum(n for _m, n in level))
    expected = round(usual_tries(evidence.sessions, today, weeks) * _days(goal, today) / 7)
    is_fixed = tried < (goal.chances_needed or 0)
    attempts = (goal.chances_needed or 0) if is_fixed else tried + expected
    needed, left = makes_for(goal, attempts) - made, attempts - tried
    counts: dict[str, Any] = {
        "made": made, "tried": tried, "needed": max(0, needed), "left": left,
        "level": counted, "level_weeks": weeks,
    }  # fmt: skip
    if needed <= 0 and tried >= LEAST_TRIED:
        # Where the usual week brings nothing, any further try may still change the share.
        if left or not _days(goal, today):
            return Ruling("met", "met", **counts)
        return Ruling("on the way", "holding", **counts)
    if is_fixed and needed > left:
        return Ruling("behind", "unreachable", **counts)
    if counted[1] < LEAST_TRIED:
        more = LEAST_TRIED - counted[1]
        return Ruling(UNSURE, "few" if counted[1] else "none", more=more, **counts)
    if not is_fixed and attempts < LEAST_TRIED:
        return Ruling(UNSURE, "few_by_then", more=LEAST_TRIED - tried, **counts)
    effect = effect_of(level, evidence.icc)
    if effect is None:
        return Ruling(UNSURE, "one_session", more=1, **counts)
    if needed > left:
        return Ruling("behind", "pace", **counts)
    chance = chance_of(needed, left, made=counted[0], tried=counted[1], design_effect=effect)
    return Ruling(word_of(chance), "forecast", chance=chance, effect=effect, **counts)


def word_of(chance: float) -> Word:
    """The word for a probability (0..1) of reaching the target."""
    if chance >= LIKELY:
        return "on the way"
    return "behind" if chance <= UNLIKELY else "could go either way"


def level_of(sessions: Sequence[Session], today: date) -> tuple[int, list[tuple[int, int]]]:
    """(weeks, sessions): the latest sessions in which something was tried; this week's, and those
    of so many complete weeks before it."""
    found: list[tuple[int, int]] = []
    for weeks in LEVEL_WEEKS:
        first = monday_of(today) - weeks * WEEK
        found = [one.count for one in sessions if first <= one.on <= today and one.tried]
        if sum(tried for _made, tried in found) >= LEAST_TRIED:
            return weeks, found
    return LEVEL_WEEKS[-1], found


def usual_tries(sessions: Sequence[Session], today: date, weeks: int) -> float:
    """The median of what was tried in the last so many complete weeks, idle ones too."""
    mondays = [monday_of(today) - back * WEEK for back in range(1, weeks + 1)]
    tried = dict.fromkeys(mondays, 0)
    for one in sessions:
        if (monday := monday_of(one.on)) in tried:
            tried[monday] += one.tried
    return float(median(tried.values()))


def effect_of(level: Sequence[tuple[int, int]], icc: float | None) -> float | None:
    """How many of these tries count as one, at least 1: from the squad's `icc`, else from how much
    the player's own sessions differ. None where there is neither: a single session."""
    if icc is not None:
        return change.design_effect(level, icc)
    if len(level) < 2:
        return None
    own, _df = change.overdispersion(level)
    return max(1.0, own or 1.0)


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _days(goal: Facts, today: date) -> int:
    return max(0, (goal.due_on - today).days)
