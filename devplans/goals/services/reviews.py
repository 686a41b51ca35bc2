"""Reviews on the fixed dates of a goal: written once each, kept as written."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from devplans.goals.models import Goal, GoalReview
from devplans.goals.status import differing, review_words, reviewing
from devplans.goals.status.reading import Known, known, whole_first
from devplans.goals.status.reps import counting_weeks
from devplans.goals.status.reviewing import Finding, Window
from devplans.people.models import Club
from devplans.tallies import rates

AT_ONCE = 200
# A worker that was away so long still writes what a closed goal was due.
STILL_WRITTEN = timedelta(days=60)


def write_due_reviews(*, now: datetime) -> int:
    """Write every review whose day has come by the club's clock; how many were written.

    Safe to run late, twice, or at once: a review that is there is never written again.
    """
    written = 0
    for club in Club.objects.order_by("created_at"):
        due = _due(club, now)
        for first in range(0, len(due), AT_ONCE):
            written += _write(due[first : first + AT_ONCE], now)
    return written


def _due(club: Club, now: datetime) -> list[UUID]:
    """Goals that lack a review whose day has come."""
    today = now.astimezone(ZoneInfo(club.zone)).date()
    goals = Goal.objects.begun().filter(player__club=club)
    goals = goals.exclude(closed_on__lt=today - STILL_WRITTEN)
    held: dict[UUID, int] = GoalReview.objects.count_by_goal(goals)
    return [
        key
        for key, days, closed_on in goals.order_by().values_list("pk", "review_dates", "closed_on")
        if sum(_has_come(day, today, closed_on) for day in days) > held.get(key, 0)
    ]


def _has_come(day: str, today: date, closed_on: date | None) -> bool:
    return date.fromisoformat(day) <= min(today, closed_on or today)


def windows_of(goal: Goal) -> list[Window]:
    if goal.started_on is None:
        return []
    days = [date.fromisoformat(day) for day in goal.review_dates]
    return reviewing.windows(goal.started_on, days)


def _write(keys: Sequence[UUID], now: datetime) -> int:
    goals = list(Goal.objects.filter(pk__in=keys))
    cuts = {goal.pk: [window.on for window in windows_of(goal)] for goal in goals}
    written = 0
    for one in known(goals, now, cuts=cuts):
        held = set(one.goal.reviews.values_list("number", flat=True))
        for window in windows_of(one.goal):
            closed_on = one.goal.closed_on
            if window.number in held or window.on > min(one.today, closed_on or one.today):
                continue
            written += _keep(one, window)
    return written


@transaction.atomic
def _keep(one: Known, window: Window) -> int:
    found = find(one, window)
    before, after = found.before or (None, None), found.after or (None, None)
    row = GoalReview(
        goal=one.goal, number=window.number, of=window.of, reviewed_on=window.on,
        window_from=window.first, window_until=window.last, word=found.word,
        low=found.low, high=found.high, made=after[0], tried=after[1],
        start_made=before[0], start_tried=before[1],
        reps=found.reps, start_reps=found.start_reps,
        confidence=window.confidence, more_needed=found.more_needed,
        sentence=review_words.sentence(one.goal.measure, window, found),
    )  # fmt: skip
    # Of two that write at once one finds the other's row and leaves it as it is.
    GoalReview.objects.bulk_create([row], ignore_conflicts=True)
    return int(GoalReview.objects.filter(pk=row.pk).exists())


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
