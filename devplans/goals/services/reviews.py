"""Reviews on the fixed dates of a goal: written once each, kept as written."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from devplans.goals.models import Goal, GoalReview
from devplans.goals.status import looking, review_words
from devplans.goals.status.reading import Known, known
from devplans.goals.status.reviewing import Window
from devplans.people.models import Club

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


def _write(keys: Sequence[UUID], now: datetime) -> int:
    goals = list(Goal.objects.filter(pk__in=keys))
    cuts = {goal.pk: [window.on for window in looking.windows_of(goal)] for goal in goals}
    written = 0
    for one in known(goals, now, cuts=cuts):
        held = set(one.goal.reviews.values_list("number", flat=True))
        for window in looking.windows_of(one.goal):
            closed_on = one.goal.closed_on
            if window.number in held or window.on > min(one.today, closed_on or one.today):
                continue
            written += _keep(one, window)
    return written


@transaction.atomic
def _keep(one: Known, window: Window) -> int:
    found = looking.find(one, window)
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
