"""What only the weekly digests say of players and squads, in a constant number of queries.

Plain values that can be kept as JSON, like those of `progress.reports`.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Min

from devplans.goals.models import Goal, GoalReview
from devplans.goals.status import WORDS
from devplans.people.models import Guardianship, Player, SquadPlayer
from devplans.progress.reports import SquadsRead
from devplans.stats import weeks
from devplans.threads.members import coach_name
from devplans.threads.models import Reply
from devplans.workouts import sums
from devplans.workouts.after.reading import Hours, hours_of

MINUTES_WEEKS = 6
UNSURE = WORDS[-1]


# --- one player after another ---


def player_extras(
    players: list[Player], week: weeks.Week, zone: str, now: datetime
) -> dict[UUID, dict[str, Any]]:
    """Beside `reports.player_weeks`: hours beside the published limits, each message, minutes of
    some weeks, and whether it is the first week in a squad.

    players: read `select_related("club")`.
    """
    start, end = weeks.bounds(*week, zone)
    hours = hours_of(players, end)
    talk = each_message(players, start, end)
    minutes = minutes_until(players, week)
    since = first_days(players)
    return {
        player.pk: {
            "hours": hours_facts(hours[player.pk]),
            "each_message": talk[player.pk],
            "minutes": minutes[player.pk],
            "is_first": since.get(player.pk, date.max) >= weeks.monday(*week),
        }
        for player in players
    }


def hours_facts(hours: Hours) -> dict[str, Any]:
    """The week that is over, of the hours we know of: minutes, days without anything logged, and
    the sentences that hold them beside what is published, with their source."""
    known, beside = hours.last, hours.against_last
    limits = beside.limits
    return {
        "team": known.organised,
        "own": known.own,
        "rest_days": known.rest_days,
        "is_empty": known.is_empty,
        "limit_h": limits.organised if limits else None,
        "least_rest": limits.rest_days if limits else None,
        "lacks_birth_date": beside.lacks_birth_date,
        "remarks": [remark.words for remark in beside.remarks],
        "is_past": bool(beside.past),
    }


def each_message(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[dict[str, Any]]]:
    """Every reply on each player's threads in [start, end), the oldest first: who, when, about
    which skill. Not the words: a mail cannot be taken back, and they may name another child."""
    players = list(players)
    rows = (
        Reply.objects.filter(thread__player__in=players, created_at__gte=start, created_at__lt=end)
        .select_related("author", "thread__player", "thread__delivery__comment__skill")
        .order_by("created_at")
    )
    guardians = set(
        Guardianship.objects.filter(player__in=players).values_list("player_id", "user_id")
    )
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        found[row.thread.player_id].append(
            {
                "at": row.created_at.isoformat(),
                "who": _writer(row, guardians),
                "skill": _skill(row),
                "is_question": row.is_question,
                "is_answered": row.answered_at is not None,
            }
        )
    return found


def _writer(reply: Reply, guardians: set[tuple[UUID, UUID]]) -> str:
    player, author = reply.thread.player, reply.author
    if author is None:
        return ""
    if author.pk == player.user_id:
        return player.first_name
    if (player.pk, author.pk) in guardians:
        return author.full_name
    return coach_name(author)


def _skill(reply: Reply) -> str:
    try:
        return reply.thread.delivery.comment.skill.name
    except ObjectDoesNotExist:
        return ""


def minutes_until(players: Iterable[Player], week: weeks.Week) -> dict[UUID, list[list[Any]]]:
    """[week's number, minutes with the team, minutes alone] of the weeks until `week`, the oldest
    first."""
    shown = weeks.weeks_until(week, MINUTES_WEEKS)
    labels = [str(number) for _year, number in shown]
    series = sums.week_series(list(players), shown[0], MINUTES_WEEKS)
    return {
        player_id: [
            [label, row.minutes_organised or 0, row.minutes_own or 0]
            for label, row in zip(labels, rows, strict=True)
        ]
        for player_id, rows in series.items()
    }


def first_days(players: Iterable[Player]) -> dict[UUID, date]:
    """The day on which each player came into the first of his squads."""
    places = SquadPlayer.objects.filter(player__in=list(players)).order_by()
    return dict(places.values_list("player").annotate(Min("since")))


# --- one squad after another ---


def squad_extras(read: SquadsRead) -> dict[UUID, dict[str, Any]]:
    """Beside `reports.squad_facts`, by squad: reviews that came up in the week, and what should be
    counted on film next."""
    players = [place.player for row in read.rosters.values() for place in row]
    reviews = reviews_between(players, weeks.monday(*read.week), _last_day(read.week))
    return {
        squad.pk: {
            "reviews": [row for p in read.rosters[squad.pk] for row in reviews[p.player_id]],
            "to_count": _to_count(
                goal for p in read.rosters[squad.pk] for goal in read.goals.get(p.player_id, [])
            ),
        }
        for squad in read.squads
    }


def _last_day(week: weeks.Week) -> date:
    return weeks.monday(*week) + timedelta(days=6)


def reviews_between(
    players: Iterable[Player], first: date, last: date
) -> dict[UUID, list[dict[str, Any]]]:
    """The reviews of each player's goals from the day `first` to `last`, in the words that were
    written down with them."""
    rows = (
        GoalReview.objects.filter(
            goal__player__in=list(players), reviewed_on__gte=first, reviewed_on__lte=last
        )
        .select_related("goal__player", "goal__skill")
        .order_by("reviewed_on", "created_at")
    )
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        found[row.goal.player_id].append(
            {
                "player": row.goal.player.full_name,
                "skill": row.goal.skill.name,
                "on": row.reviewed_on.isoformat(),
                "label": row.get_word_display(),
                "sentence": row.sentence,
            }
        )
    return found


def _to_count(goals: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Skills whose goals on film cannot be told yet: how many goals wait, how many chances are
    counted; the one that most wait for first."""
    found: dict[str, dict[str, Any]] = {}
    for goal in goals:
        if goal["measure"] != Goal.Measure.FILM_RATE or goal["word"] != UNSURE:
            continue
        row = found.setdefault(goal["skill"], {"skill": goal["skill"], "goals": 0, "tried": 0})
        row["goals"] += 1
        row["tried"] += goal["tried"]
    return sorted(found.values(), key=lambda row: (-row["goals"], row["tried"], row["skill"]))
