"""What the pages and the digests say about players, squads and clubs: reads only, from the facts
of the apps below.

Every function takes all its players or squads at once and asks a constant number of questions.
Results are plain
values that can be kept as JSON: ids as text, instants as ISO text, shares 0..1, None where
undefined.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from statistics import median
from typing import Any
from uuid import UUID

from django.db.models import Count, Min, Q
from django.utils import timezone

from devplans.feedback.models import Delivery
from devplans.film.models import Film
from devplans.goals.models import Goal
from devplans.people.models import Consent, Guardianship, Player, Squad, SquadPlayer
from devplans.schedule.models import Event
from devplans.stats import weeks
from devplans.stats.proportions import share, wilson_interval
from devplans.tallies import rates
from devplans.tallies.models import TallyWeek
from devplans.threads.models import Reply
from devplans.workouts import sums
from devplans.workouts.after.reading import open_counts

NEXT_DATES = 3
WEEKS_SHOWN = 8


def counted(made: int | None, tried: int | None) -> dict[str, Any]:
    """Made of tried with its share and Wilson interval; None where nothing was tried."""
    made, tried = made or 0, tried or 0
    if not tried:
        return {"made": made, "tried": tried, "share": None, "low": None, "high": None}
    low, high = wilson_interval(made, tried)
    return {"made": made, "tried": tried, "share": share(made, tried), "low": low, "high": high}


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


def goals_of(players: Iterable[Player]) -> dict[UUID, list[dict[str, Any]]]:
    """Each player's live goals, the next due first; on film with what closed tallies say so far."""
    players = list(players)
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    film = rates.week_rows(players)
    for goal in Goal.objects.live().filter(player__in=players).select_related("skill"):
        found[goal.player_id].append(
            {
                "goal": str(goal.pk),
                "skill": goal.skill.name,
                "words": goal.words,
                "due_on": goal.due_on.isoformat(),
                "film": _film_facts(goal, film.get((goal.player_id, goal.skill_id), [])),
            }
        )
    return found


def _film_facts(goal: Goal, rows: list[TallyWeek]) -> dict[str, Any] | None:
    """What was counted on film since a goal began; None for other measures, and for no chance."""
    if goal.measure != Goal.Measure.FILM_RATE or goal.started_on is None:
        return None
    rate = rates.film_rate(rows, since=goal.started_on)
    if rate is None:
        return None
    return {
        "made": rate.made,
        "tried": rate.tried,
        "low": rate.low,
        "high": rate.high,
        "source": rate.source,
    }


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
    for event in Event.objects.upcoming(now).filter(squad__in=list(squads)):
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


def gym_facts(row: sums.WeekSums) -> dict[str, Any]:
    return {
        "workouts": row.workouts,
        "minutes_own": row.minutes_own,
        "minutes_organised": row.minutes_organised,
        "reps": row.reps,
        **counted(row.made, row.tried),
    }


def drill_facts(row: sums.DrillSums) -> dict[str, Any]:
    return {"drill": row.name, "reps": row.reps, **counted(row.made, row.tried)}


def squad_facts(squads: list[Squad], week: weeks.Week, zone: str) -> list[dict[str, Any]]:
    """For coaches and directors: who of each squad got feedback in the week, how long it took,
    what waits, training."""
    start, end = weeks.bounds(*week, zone)
    rosters: dict[UUID, list[Player]] = defaultdict(list)
    places = SquadPlayer.objects.current().filter(squad__in=squads).select_related("player")
    for place in places.order_by("player__first_name"):
        rosters[place.squad_id].append(place.player)
    everybody = list({player.pk: player for rows in rosters.values() for player in rows}.values())
    context = {
        "given": _feedback_counts(everybody, start, end),
        "gym": sums.week_sums(everybody, *week),
        "hours": _hours_to_feedback(squads, start, end),
        "goals": _goals_by_life(everybody),
        "waiting": _open_questions(squads),
        "pains": open_counts(everybody),
        "unguarded": _without_guardian(everybody),
        "unconsented": _without_consent(everybody),
        "dates": next_dates([squad.pk for squad in squads], timezone.now()),
    }
    return [_one_squad(squad, rosters[squad.pk], context) for squad in squads]


def _one_squad(squad: Squad, roster: list[Player], found: dict[str, Any]) -> dict[str, Any]:
    given = [found["given"].get(player.pk, {"sent": 0, "seen": 0}) for player in roster]
    gym = [found["gym"][player.pk] for player in roster]
    hours = found["hours"].get(squad.pk, [])
    lives: dict[str, int] = defaultdict(int)
    for player in roster:
        for life, number in found["goals"].get(player.pk, {}).items():
            lives[life] += number
    return {
        "squad": str(squad.pk),
        "name": squad.name,
        "players": len(roster),
        "with_feedback": sum(1 for row in given if row["sent"]),
        "without_feedback": [
            p.full_name for p, row in zip(roster, given, strict=True) if not row["sent"]
        ],
        "sent": sum(row["sent"] for row in given),
        "seen": sum(row["seen"] for row in given),
        "hours_to_feedback": round(median(hours), 1) if hours else None,
        "films": len(hours),
        "goals_live": lives[Goal.Life.LIVE],
        "goals_paused": lives[Goal.Life.PAUSED],
        "goals_closed": lives[Goal.Life.CLOSED],
        "minutes_own": sum(row.minutes_own or 0 for row in gym),
        "minutes_organised": sum(row.minutes_organised or 0 for row in gym),
        "active": sum(1 for row in gym if row.workouts),
        **counted(sum(r.made or 0 for r in gym), sum(r.tried or 0 for r in gym)),
        "open_questions": found["waiting"].get(squad.pk, 0),
        "open_pains": sum(found["pains"].get(player.pk, 0) for player in roster),
        "no_guardian": [p.full_name for p in roster if p.pk in found["unguarded"]],
        "no_consent": [p.full_name for p in roster if p.pk in found["unconsented"]],
        "next": found["dates"].get(squad.pk, []),
        "roster": [
            {
                "player": str(p.pk),
                "name": p.full_name,
                **row,
                "workouts": sums_row.workouts,
                "minutes_own": sums_row.minutes_own,
                **counted(sums_row.made, sums_row.tried),
            }
            for p, row, sums_row in zip(roster, given, gym, strict=True)
        ],
    }


def _feedback_counts(
    players: list[Player], start: datetime, end: datetime
) -> dict[UUID, dict[str, int]]:
    rows = Delivery.objects.standing().filter(
        player__in=players, sent_at__gte=start, sent_at__lt=end
    )
    counts = rows.values("player").annotate(
        sent=Count("pk"), seen=Count("pk", filter=Q(seen_at__isnull=False))
    )
    return {row.pop("player"): row for row in counts}


def _hours_to_feedback(
    squads: list[Squad], start: datetime, end: datetime
) -> dict[UUID, list[float]]:
    """Hours from the game (or, without a date, the upload) to the first comment sent, for films
    first answered
    in the span."""
    films = (
        Film.objects.filter(squad__in=squads)
        .annotate(first=Min("comments__sent_at"))
        .filter(first__gte=start, first__lt=end)
        .select_related("event")
    )
    found: dict[UUID, list[float]] = defaultdict(list)
    for film in films:
        began = film.event.ends_at if film.event else film.recorded_at or film.created_at
        found[film.squad_id].append(max(0.0, (film.first - began).total_seconds() / 3600))
    return found


def _goals_by_life(players: list[Player]) -> dict[UUID, dict[str, int]]:
    rows = (
        Goal.objects.filter(player__in=players)
        .values("player", "life")
        .annotate(number=Count("pk"))
    )
    found: dict[UUID, dict[str, int]] = defaultdict(dict)
    for row in rows:
        found[row["player"]][row["life"]] = row["number"]
    return found


def _open_questions(squads: list[Squad]) -> dict[UUID, int]:
    rows = Reply.objects.filter(thread__squad__in=squads, is_question=True, answered_at=None)
    return dict(rows.values_list("thread__squad").annotate(Count("pk")))


def _without_guardian(players: list[Player]) -> set[UUID]:
    guarded = (
        Guardianship.objects.current()
        .filter(player__in=players)
        .values_list("player_id", flat=True)
    )
    return {p.pk for p in players if p.is_minor()} - set(guarded)


def _without_consent(players: list[Player]) -> set[UUID]:
    given = Consent.objects.valid().filter(player__in=players, kind=Consent.Kind.FILM)
    return {p.pk for p in players} - set(given.values_list("player_id", flat=True))
