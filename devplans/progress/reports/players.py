"""One player after another: what reached him from film, what was logged, goals, next dates."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Q
from django.utils import timezone

from devplans.feedback.models import Delivery
from devplans.goals.models import Goal
from devplans.goals.status import statuses
from devplans.people.models import Player, SquadPlayer
from devplans.progress.reports.figures import drill_facts, gym_facts
from devplans.schedule.models import Event
from devplans.stats import weeks
from devplans.threads.models import Reply
from devplans.workouts import sums

NEXT_DATES = 3
# Further ahead nobody plans by these pages; it bounds what is read.
DATES_AHEAD = timedelta(days=120)


def deliveries_between(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[dict[str, Any]]]:
    """What each player got from film in [start, end), oldest first, in his own copy's words."""
    rows = (
        Delivery.objects.standing()
        .filter(player__in=players, sent_at__gte=start, sent_at__lt=end)
        .select_related("comment__skill", "comment__author")
        .order_by("sent_at", "comment__start_ms")
    )
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        found[row.player_id].append(
            {
                "delivery": str(row.pk),
                "comment": str(row.comment_id),
                "version": row.version,
                "verdict": row.comment.verdict,
                "skill": row.comment.skill.name,
                "happened": row.happened,
                "do_instead": row.do_instead,
                "coach": row.comment.author.full_name if row.comment.author else "",
                "sent_at": row.sent_at.isoformat(),
                "seen": row.seen_at is not None,
                "understood": row.understood_at is not None,
            }
        )
    return found


def messages_between(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, dict[str, int]]:
    """For each player: replies written on his threads in [start, end), and questions still without
    an answer."""
    rows = (
        Reply.objects.filter(thread__player__in=players, created_at__gte=start, created_at__lt=end)
        .values("thread__player")
        .annotate(
            written=Count("pk"),
            questions=Count("pk", filter=Q(is_question=True)),
            open=Count("pk", filter=Q(is_question=True, answered_at=None)),
        )
    )
    return {row.pop("thread__player"): row for row in rows}


def goals_of(players: Iterable[Player], now: datetime | None = None) -> dict[UUID, list[Any]]:
    """Each player's live goals, the next due first, each with the facts of its `Standing`."""
    rows = Goal.objects.live().filter(player__in=list(players)).select_related("skill")
    live = list(rows.order_by("due_on", "created_at"))
    stands = statuses(live, now or timezone.now())
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for goal in live:
        found[goal.player_id].append(
            {
                **stands[goal.pk].as_facts(),
                "goal": str(goal.pk),
                "skill": goal.skill.name,
                "words": goal.words,
                "due_on": goal.due_on.isoformat(),
            }
        )
    return found


def squads_of(players: Iterable[Player]) -> dict[UUID, list[SquadPlayer]]:
    """Each player's places in squads today."""
    found: dict[UUID, list[SquadPlayer]] = defaultdict(list)
    places = SquadPlayer.objects.current().filter(player__in=players).select_related("squad")
    for place in places.order_by("since"):
        found[place.player_id].append(place)
    return found


def next_dates(squads: Iterable[UUID], now: datetime) -> dict[UUID, list[dict[str, Any]]]:
    """The next few games and practices of each squad, soonest first."""
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    rows = Event.objects.upcoming(now).filter(squad__in=list(squads))
    for event in rows.filter(starts_at__lt=now + DATES_AHEAD):
        if len(found[event.squad_id]) < NEXT_DATES:
            found[event.squad_id].append(
                {
                    "kind": event.kind,
                    "opponent": event.opponent,
                    "place": event.place,
                    "starts_at": event.starts_at.isoformat(),
                }
            )
    return found


def player_weeks(players: list[Player], week: weeks.Week, zone: str) -> dict[UUID, dict[str, Any]]:
    """The facts of one ISO week for each player: film, gym, messages, goals, next dates."""
    start, end = weeks.bounds(*week, zone)
    films = deliveries_between(players, start, end)
    talk = messages_between(players, start, end)
    gym = sums.week_sums(players, *week)
    drills = sums.drill_sums(players, start, end)
    goals = goals_of(players)
    places = squads_of(players)
    dates = next_dates(
        {place.squad_id for rows in places.values() for place in rows}, timezone.now()
    )
    return {
        player.pk: {
            "player": str(player.pk),
            "first_name": player.first_name,
            "name": player.full_name,
            "squads": [place.squad.name for place in places[player.pk]],
            "film": films[player.pk],
            "messages": talk.get(player.pk, {"written": 0, "questions": 0, "open": 0}),
            "gym": gym_facts(gym[player.pk]),
            "drills": [drill_facts(row) for row in drills.get(player.pk, [])],
            "goals": goals[player.pk],
            "next": sorted(
                (event for place in places[player.pk] for event in dates[place.squad_id]),
                key=lambda event: event["starts_at"],
            )[:NEXT_DATES],
        }
        for player in players
    }
