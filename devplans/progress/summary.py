"""The progress summary of one player, as the page's context: words first, then figures."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from devplans.feedback.models import Delivery
from devplans.goals.models import Goal, GoalReview
from devplans.goals.status import Standing, statuses
from devplans.people.models import Player
from devplans.progress import beside, opening, reports
from devplans.stats import weeks
from devplans.workouts import sums
from devplans.workouts.after.reading import Hours, hours_of

LATEST = 6
MINUTES = 60


@dataclass(frozen=True)
class GoalRow:
    """One live goal: where it stands, and its reviews as they were written, the latest first."""

    goal: Goal
    standing: Standing
    reviews: list[GoalReview]

    @property
    def is_share(self) -> bool:
        return self.goal.measure != Goal.Measure.REPS_PER_WEEK


@dataclass(frozen=True)
class WeekRow:
    """One ISO week of what was logged."""

    week: weeks.Week
    sums: sums.WeekSums

    @property
    def name(self) -> str:
        return weeks.format_label(self.week)

    @property
    def first_day(self) -> date:
        return weeks.monday(*self.week)

    def bar(self) -> dict[str, Any]:
        return {
            "label": str(self.week[1]),
            "organised": self.sums.minutes_organised or 0,
            "own": self.sums.minutes_own or 0,
        }


def of_player(user: Any, player: Player, now: datetime) -> dict[str, Any]:
    """What `user` reads about a player, whom he may read; its queries do not grow with the rows.

    player: read `select_related("club")`. The player himself is "you", to all others his first
    name.
    """
    places = reports.squads_of([player])[player.pk]
    dates = reports.next_dates([place.squad_id for place in places], now)
    goals = goal_rows(user, player, now)
    hours = hours_of([player], now)[player.pk]
    shown = weeks_of(player, now)
    own = player.user_id is not None and player.user_id == user.pk
    stands = [opening.Stand(row.goal.skill.name, row.standing) for row in goals]
    return {
        "own": own,
        "places": places,
        "goals": goals,
        "until": max((row.goal.due_on for row in goals), default=None),
        "has_reviews": any(row.reviews for row in goals),
        "opening": opening.sentences(stands, name=player.first_name, own=own),
        "weeks": shown,
        "minutes": [row.bar() for row in shown],
        "has_minutes": any(row.sums.workouts for row in shown),
        "this_week": shown[-1].sums,
        "hours": hours,
        "limit": _limit(hours),
        "drills": drills_of(player, now),
        "latest": latest_of(user, player),
        "next": [
            event | {"at": datetime.fromisoformat(event["starts_at"])}
            for place in places
            for event in dates[place.squad_id]
        ],
        "beside": beside.of_player(player, now),
        "today": now,
    }


def goal_rows(user: Any, player: Player, now: datetime) -> list[GoalRow]:
    """The live goals that `user` may read, the next due first, with where they stand."""
    goals = list(Goal.objects.visible_to(user).live().of_player(player))
    stands = statuses(goals, now)
    reviews: dict[UUID, list[GoalReview]] = {}
    for review in GoalReview.objects.filter(goal__in=goals).order_by("-number"):
        reviews.setdefault(review.goal_id, []).append(review)
    return [
        GoalRow(goal, stands[goal.pk], reviews.get(goal.pk, []))
        for goal in goals
        if goal.pk in stands
    ]


def weeks_of(player: Player, now: datetime) -> list[WeekRow]:
    """The last eight ISO weeks, the running one last. One query."""
    last = weeks.week_of(now, player.club.zone)
    shown = weeks.weeks_until(last, reports.WEEKS_SHOWN)
    rows = sums.week_series([player], shown[0], len(shown))[player.pk]
    return [WeekRow(week, row) for week, row in zip(shown, rows, strict=True)]


def drills_of(player: Player, now: datetime) -> list[sums.DrillSums]:
    """What was counted by drill over these weeks, by the drills' names."""
    last = weeks.week_of(now, player.club.zone)
    first = weeks.weeks_until(last, reports.WEEKS_SHOWN)[0]
    start, _end = weeks.bounds(*first, player.club.zone)
    return sums.drill_sums([player], start, now).get(player.pk, [])


def latest_of(user: Any, player: Player) -> list[Delivery]:
    """The latest from film that `user` may open, those taken back too."""
    rows = Delivery.objects.visible_to(user).of_player(player)
    rows = rows.select_related("comment__skill", "comment__film").order_by("-sent_at", "pk")
    return list(rows[:LATEST])


def _limit(hours: Hours) -> int | None:
    """The published minutes with the team a week; None where none are known."""
    limits = hours.against_this.limits
    return None if limits is None else limits.organised * MINUTES
