"""What a review finds of one goal in its window."""

from collections.abc import Iterable
from datetime import date

from devplans.goals.models import Goal
from devplans.goals.status import differing, reviewing
from devplans.goals.status.reading import Known, whole_first
from devplans.goals.status.reps import counting_weeks
from devplans.goals.status.reviewing import Finding, Window
from devplans.tallies import rates


def windows_of(goal: Goal) -> list[Window]:
    """One for each of its fixed dates; none before it has begun."""
    if goal.started_on is None:
        return []
    days = [date.fromisoformat(day) for day in goal.review_dates]
    return reviewing.windows(goal.started_on, days)


def find(one: Known, window: Window) -> Finding:
    """What may be said of one goal in one window."""
    goal = one.goal
    if goal.measure == Goal.Measure.REPS_PER_WEEK:
        counting = counting_weeks(one.facts, one.evidence.reps, window.last)
        reps = [one.evidence.reps.get(week, 0) for week in counting if week >= window.first]
        return reviewing.compare_reps(goal.start_reps, reps)
    start = (goal.start_made or 0, goal.start_tried) if goal.start_tried else None
    if goal.measure == Goal.Measure.FILM_RATE:
        return _on_film(one, window, start)
    after = [s.count for s in one.evidence.sessions if window.first <= s.on <= window.last]
    return _compare(one, window, start, after)


def _compare(
    one: Known,
    window: Window,
    start: tuple[int, int] | None,
    after: Iterable[tuple[int, int]],
) -> Finding:
    before = [(made, tried) for made, tried in one.goal.start_sessions]
    return reviewing.compare(
        start, before, list(after), icc=one.evidence.icc, confidence=window.confidence
    )


def _on_film(one: Known, window: Window, start: tuple[int, int] | None) -> Finding:
    """The films of the coach who counted the starting point; else of the one who counted most."""
    goal = one.goal
    rows = rates.week_rows([goal.player], skills=[goal.skill_id])
    rate = whole_first(
        rates.film_rate(
            rows.get((goal.player_id, goal.skill_id), []), since=window.first, until=window.last
        )
    )
    if rate is None:
        return _compare(one, window, start, [])
    every = [rate, *rate.others]
    same = [r for r in every if r.coach_id == goal.start_coach_id and not r.is_sample]
    chosen = same[0] if same and goal.start_coach_id else rate
    counted = (chosen.made, chosen.tried)
    if chosen.is_sample:
        return Finding(reviewing.UNSURE, "sample", before=start, after=counted)
    if differing.counts_differ(goal, window.last):
        return Finding(reviewing.UNSURE, "differ", before=start, after=counted)
    if goal.start_sessions and not same:
        return Finding(reviewing.UNSURE, "other_coach", before=start, after=counted)
    return _compare(one, window, start, [(made, tried) for _on, made, tried in chosen.counts])
