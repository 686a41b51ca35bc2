"""The tables of a player's summary as files: the rows of the page, with all of their figures."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from devplans.people.models import Player
from devplans.progress import summary
from devplans.progress.tables import Table
from devplans.stats.proportions import wilson_interval


def goals(user: Any, player: Player, now: datetime) -> Table:
    """The live goals, where each one began and stands."""
    table = Table([
        _("skill"), _("goal"), _("what is counted"), _("made"), _("tried"), _("low"), _("high"),
        _("made at the start"), _("tried at the start"), _("low at the start"),
        _("high at the start"), _("target"), _("reps a week"), _("reps a week at the start"),
        _("target in reps a week"), _("status"), _("why"), _("what it takes"), _("began on"),
        _("next review on"), _("due on"),
    ])  # fmt: skip
    for row in summary.goal_rows(user, player, now):
        goal, found = row.goal, row.standing
        table.rows.append([
            goal.skill.name, goal.words, found.source,
            *((found.made, found.tried) if row.is_share else (None, None)), found.low, found.high,
            found.start_made, found.start_tried, found.start_low, found.start_high, found.target,
            found.reps, found.start_reps, found.target_reps, found.label, found.sentence,
            found.settles, goal.started_on, found.next_review, goal.due_on,
        ])  # fmt: skip
    return table


def reviews(user: Any, player: Player, now: datetime) -> Table:
    """The reviews of the live goals as they were written; low and high are of the difference."""
    table = Table([
        _("skill"), _("review"), _("of"), _("reviewed on"), _("from"), _("until"), _("result"),
        _("made"), _("tried"), _("made at the start"), _("tried at the start"),
        _("low of the difference"), _("high of the difference"), _("reps a week"),
        _("reps a week at the start"), _("confidence"), _("further tries needed"), _("in words"),
    ])  # fmt: skip
    for row in summary.goal_rows(user, player, now):
        for one in reversed(row.reviews):
            table.rows.append([
                row.goal.skill.name, one.number, one.of, one.reviewed_on, one.window_from,
                one.window_until, one.get_word_display(), one.made, one.tried, one.start_made,
                one.start_tried, one.low, one.high, one.reps, one.start_reps, one.confidence,
                one.more_needed, one.sentence,
            ])  # fmt: skip
    return table


def weeks(user: Any, player: Player, now: datetime) -> Table:
    """What was logged in each of the last eight weeks, the oldest first."""
    table = Table([
        _("week"), _("first day"), _("workouts"), _("minutes with the team"), _("minutes alone"),
        _("made"), _("tried"), _("low"), _("high"), _("reps"),
    ])  # fmt: skip
    for row in summary.weeks_of(player, now):
        found = row.sums
        table.rows.append([
            row.name, row.first_day, found.workouts, found.minutes_organised, found.minutes_own,
            found.made, found.tried, *_interval(found.made, found.tried), found.reps,
        ])  # fmt: skip
    return table


def drills(user: Any, player: Player, now: datetime) -> Table:
    """What was counted by drill over these weeks."""
    table = Table([
        _("drill"), _("sets"), _("reps"), _("seconds"), _("made"), _("tried"), _("low"), _("high"),
    ])  # fmt: skip
    for row in summary.drills_of(player, now):
        table.rows.append([
            row.name, row.sets, row.reps, row.seconds, row.made, row.tried,
            *_interval(row.made, row.tried),
        ])  # fmt: skip
    return table


def film(user: Any, player: Player, now: datetime) -> Table:
    """The latest from film, in the words of the player's own copies; none that was taken back."""
    table = Table([
        _("sent at"), _("skill"), _("verdict"), _("what happened"), _("next time"), _("seen at"),
        _("“I see it” at"),
    ])  # fmt: skip
    for row in summary.latest_of(user, player):
        if row.withdrawn_at is None:
            table.rows.append([
                row.sent_at, row.comment.skill.name, row.comment.get_verdict_display(),
                row.happened, row.do_instead, row.seen_at, row.understood_at,
            ])  # fmt: skip
    return table


def _interval(made: int | None, tried: int | None) -> tuple[float | None, float | None]:
    return wilson_interval(made or 0, tried) if tried else (None, None)


TABLES: dict[str, Callable[[Any, Player, datetime], Table]] = {
    "goals": goals,
    "reviews": reviews,
    "weeks": weeks,
    "drills": drills,
    "film": film,
}
