"""The progress summary of one player, as the page's context. Words before figures, and no claim of
change."""

from datetime import date, datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.feedback.models import Delivery
from devplans.goals.models import Goal
from devplans.goals.reading import on_film
from devplans.people.models import Player
from devplans.progress import reports
from devplans.stats import weeks
from devplans.workouts import sums

LATEST = 6


def of_player(player: Player, now: datetime) -> dict[str, Any]:
    """Goals with their figures, minutes of eight weeks, the latest from film, next dates."""
    last = weeks.week_of(now, player.club.zone)
    places = reports.squads_of([player])[player.pk]
    dates = reports.next_dates([place.squad_id for place in places], now)
    return {
        "places": places,
        "goals": [
            goal_row(goal, now)
            for goal in Goal.objects.live().filter(player=player).select_related("skill", "drill")
        ],
        "minutes": [
            {"label": row["label"], "organised": row["organised"], "own": row["own"]}
            for row in weeks_of(player, now)
        ],
        "this_week": sums.week_sums([player], *last)[player.pk],
        "drills": _drills(player, last),
        "latest": Delivery.objects.filter(player=player).select_related(
            "comment__skill", "comment__film"
        )[:LATEST],
        "next": [
            event | {"at": datetime.fromisoformat(event["starts_at"])}
            for place in places
            for event in dates[place.squad_id]
        ],
        "today": now,
    }


def weeks_of(player: Player, now: datetime) -> list[dict[str, Any]]:
    """Minutes, shots and reps of the last eight ISO weeks, the oldest first."""
    week = weeks.week_of(now, player.club.zone)
    rows: list[dict[str, Any]] = []
    for _step in range(reports.WEEKS_SHOWN):
        row = sums.week_sums([player], *week)[player.pk]
        rows.insert(
            0,
            {
                "week": weeks.format_label(week),
                "label": str(week[1]),
                "organised": row.minutes_organised or 0,
                "own": row.minutes_own or 0,
                "made": row.made,
                "tried": row.tried,
                "reps": row.reps,
            },
        )
        week = weeks.previous_week(week)
    return rows


def _drills(player: Player, last: weeks.Week) -> list[dict[str, Any]]:
    """What was counted by drill over the eight weeks."""
    first = _back(last, reports.WEEKS_SHOWN - 1)
    start, _end = weeks.bounds(*first, player.club.zone)
    found = sums.drill_sums([player], start, timezone.now()).get(player.pk, [])
    return [reports.drill_facts(row) for row in found]


def _back(week: weeks.Week, steps: int) -> weeks.Week:
    for _step in range(steps):
        week = weeks.previous_week(week)
    return week


def goal_row(goal: Goal, now: datetime) -> dict[str, Any]:
    """One goal: what is measured, where it began, the figure so far, the target, the next
    review."""
    row: dict[str, Any] = {"goal": goal, "review": next_review(goal, now)}
    if goal.measure == Goal.Measure.FILM_RATE:
        return row | film_row(goal)
    start = _began(goal)
    rows = sums.drill_sums([goal.player], start, now).get(goal.player_id, [])
    if goal.measure == Goal.Measure.DRILL_SHARE:
        mine = [r for r in rows if goal.drill is None or r.slug == goal.drill.slug]
        made, tried = sum(r.made or 0 for r in mine), sum(r.tried or 0 for r in mine)
        row |= {
            "source": goal.drill.name if goal.drill else "",
            "figure": reports.counted(made, tried),
        }
        row["words"] = drill_words(goal, tried)
        return row
    week = sums.week_sums([goal.player], *weeks.week_of(now, goal.player.club.zone))[goal.player_id]
    row |= {"source": _("reps this week"), "figure": None, "reps": week.reps or 0}
    row["words"] = _("%(done)s of %(target)s reps this week.") % {
        "done": week.reps or 0,
        "target": goal.target_reps,
    }
    return row


def film_row(goal: Goal) -> dict[str, Any]:
    """The figure of closed tallies since the goal began; comments are never made into one."""
    row: dict[str, Any] = {"source": _("from film, did it / chances"), "figure": None}
    found = on_film(goal)
    if found is None or not found.tried:
        row["words"] = _("No figure yet: this skill has not been counted on film.")
        return row
    row["figure"] = reports.counted(found.made, found.tried) | {
        "low": found.low,
        "high": found.high,
    }
    row["words"] = found.words
    return row


def drill_words(goal: Goal, tried: int) -> str:
    """What may be said of a share before a review has looked at it."""
    if not tried:
        return _("Nothing was logged for this drill since the goal began.")
    if goal.chances_needed and tried < goal.chances_needed:
        return _(
            "Not enough tries yet: %(tried)s of the %(needed)s that are needed to say something."
        ) % {
            "tried": tried,
            "needed": goal.chances_needed,
        }
    return _("The mark is the share so far; the whiskers show where the long-run share may lie.")


def _began(goal: Goal) -> datetime:
    day = goal.started_on or goal.created_at.date()
    return weeks.local_start(day, goal.player.club.zone)


def next_review(goal: Goal, now: datetime) -> date | None:
    """The next fixed date at which the goal is looked at; the due date after the last one."""
    days = sorted(date.fromisoformat(day) for day in goal.review_dates)
    return next((day for day in days if day >= now.date()), goal.due_on)
