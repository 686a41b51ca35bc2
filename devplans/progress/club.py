"""The director's page: squad beside squad, and of whom something has to be seen to. Nothing here
orders children by what they do: they stand by their numbers."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.goals.status import WORDS
from devplans.goals.status.words import LABELS
from devplans.people.access import Role
from devplans.people.models import Club, Squad
from devplans.progress import reports
from devplans.progress.flags import flags_of
from devplans.progress.tables import Table
from devplans.stats import hours, weeks

WEEKS_TO_CHOOSE = 13


def of_club(user: Any, club: Club, week: weeks.Week, now: datetime) -> dict[str, Any]:
    """The page of one week for a director of `club`; its queries do not grow with the players."""
    read = read_club(user, club, week)
    rows, flags = rows_of(read), flags_of(club, read)
    return {
        "rows": rows,
        "whole": _whole(read),
        "flags": flags,
        "open_flags": sum(flag.number for flag in flags),
        "week": weeks.format_label(week),
        "before": weeks.format_label(weeks.previous_week(week)),
        "after": weeks.format_label(weeks.next_week(week)),
        "first_day": weeks.monday(*week),
        "choices": _choices(club, week, now),
        "is_running": week == weeks.week_of(now, club.zone),
        "is_ahead": weeks.bounds(*week, club.zone)[0] > now,
        "words": status_words(),
        "source": hours.SOURCE,
        "sport_source": hours.SPORT_SOURCE,
    }


def read_club(user: Any, club: Club, week: weeks.Week) -> reports.SquadsRead:
    """The squads whose season was not over in the week, by name."""
    squads = Squad.objects.for_role(user, Role.DIRECTOR).filter(
        season__club=club, season__ends_on__gte=weeks.monday(*week)
    )
    return reports.read_squads(list(squads.order_by("name", "pk")), week, club.zone)


def rows_of(read: reports.SquadsRead) -> list[dict[str, Any]]:
    """The facts of each squad, with the players whose week lay past what is published, by name,
    which no other page and no mail says."""
    rows = reports.squad_facts(read)
    for row in rows:
        row["by_word"] = [one["goals"] for one in row["goals_by_status"]]
        row["past"] = [
            {**line, "words": read.past[UUID(line["player"])]}
            for line in row["roster"]
            if UUID(line["player"]) in read.past
        ]
    return rows


def status_words() -> list[str]:
    """The six words in the reader's language, in the order of the columns."""
    return [str(LABELS[word]) for word in WORDS]


def _whole(read: reports.SquadsRead) -> dict[str, Any]:
    """The club as a whole, for the sentences at the top."""
    whole = reports.whole_facts(read)
    waiting = whole["films_waiting"]
    return {**whole, "oldest": waiting[0]["days"] if waiting else 0}


def _choices(club: Club, week: weeks.Week, now: datetime) -> list[dict[str, Any]]:
    """The running week and some before it, the latest first, and the one that is shown."""
    last = weeks.week_of(now, club.zone)
    found = weeks.weeks_until(last, WEEKS_TO_CHOOSE)
    return [
        {"label": weeks.format_label(one), "first_day": weeks.monday(*one), "is_shown": one == week}
        for one in sorted({*found, week}, reverse=True)
    ]


# --- as files ---


def _feedback(rows: Sequence[dict[str, Any]]) -> Table:
    table = Table([
        _("squad"), _("players"), _("got feedback"), _("comments"), _("opened"),
        _("hours from game to first comment, the middle one"), _("films first answered"),
        _("films without a comment"), _("days the oldest one waits"), _("questions open"),
    ])  # fmt: skip
    for row in rows:
        waiting = row["films_waiting"]
        table.rows.append([
            row["name"], row["players"], row["with_feedback"], row["sent"], row["seen"],
            row["hours_to_feedback"], row["films"], len(waiting),
            waiting[0]["days"] if waiting else None, row["open_questions"],
        ])  # fmt: skip
    return table


def _films(rows: Sequence[dict[str, Any]]) -> Table:
    table = Table([_("squad"), _("film without a comment"), _("days")])
    for row in rows:
        table.rows += [[row["name"], film["title"], film["days"]] for film in row["films_waiting"]]
    return table


def _goals(rows: Sequence[dict[str, Any]]) -> Table:
    table = Table([
        _("squad"), *status_words(), _("live"), _("drafts"), _("paused"),
        _("closed"),
    ])  # fmt: skip
    for row in rows:
        table.rows.append([
            row["name"], *row["by_word"], row["goals_live"], row["goals_draft"],
            row["goals_paused"], row["goals_closed"],
        ])  # fmt: skip
    return table


def _training(rows: Sequence[dict[str, Any]]) -> Table:
    table = Table([
        _("squad"), _("players"), _("players who logged"), _("minutes with the team"),
        _("minutes alone"), _("players past published limits"),
    ])  # fmt: skip
    for row in rows:
        table.rows.append([
            row["name"], row["players"], row["active"], row["minutes_organised"],
            row["minutes_own"], row["past_hours"],
        ])  # fmt: skip
    return table


def flags_table(club: Club, read: reports.SquadsRead) -> Table:
    """A line for each player who is named, so that nobody is left out where many are."""
    table = Table([_("squad"), _("flag"), _("number"), _("player"), _("in words")])
    for flag in flags_of(club, read):
        if flag.key == "hours":
            for squad in read.squads:
                table.rows += [
                    [squad.name, flag.words, 1, place.player.full_name, "; ".join(words)]
                    for place in read.rosters[squad.pk]
                    if (words := read.past.get(place.player_id))
                ]
            continue
        for place in flag.places:
            table.rows += [[place.name, flag.words, 1, name, ""] for _key, name in place.people]
            if not place.people:
                table.rows.append([place.name, flag.words, place.number, "", flag.note])
    return table


def _players(rows: Sequence[dict[str, Any]]) -> Table:
    table = Table([
        _("squad"), _("number"), _("player"), _("comments"), _("opened"), _("workouts"),
        _("minutes with the team"), _("minutes alone"),
    ])  # fmt: skip
    for row in rows:
        for line in row["roster"]:
            table.rows.append([
                row["name"], line["number"], line["name"], line["sent"], line["seen"],
                line["workouts"], line["minutes_organised"], line["minutes_own"],
            ])  # fmt: skip
    return table


TABLES: dict[str, Callable[[Sequence[dict[str, Any]]], Table]] = {
    "feedback": _feedback,
    "films": _films,
    "goals": _goals,
    "training": _training,
    "players": _players,
}
# By name in an address; the flags are read for themselves.
NAMES = (*TABLES, "flags")
