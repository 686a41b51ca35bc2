"""Squad after squad, for coaches and directors: who got feedback, how long it took, what waits."""

from collections import defaultdict
from datetime import datetime, timedelta
from statistics import median
from typing import Any
from uuid import UUID

from django.db.models import Count, Min, Q
from django.utils import timezone

from devplans.feedback.models import Delivery
from devplans.film.models import Film
from devplans.goals.models import Goal
from devplans.goals.status import Word, statuses
from devplans.people import roster
from devplans.people.models import Consent, Guardianship, Player, Squad, SquadPlayer
from devplans.progress.reports import limits
from devplans.progress.reports.figures import counted
from devplans.progress.reports.players import next_dates
from devplans.stats import weeks
from devplans.threads.models import Reply
from devplans.workouts import sums
from devplans.workouts.after.reading import open_counts

# The order in which a page names them.
WORDS: tuple[Word, ...] = (
    "met", "on the way", "could go either way", "behind", "missed", "not enough evidence yet",
)  # fmt: skip
# A film that nobody has said anything about in eight weeks is not waited for any more.
FILMS_WAITED_FOR = timedelta(weeks=8)


def squad_facts(squads: list[Squad], week: weeks.Week, zone: str) -> list[dict[str, Any]]:
    """For coaches and directors: who of each squad got feedback in the week, how long it took,
    what waits, training. Rosters and what waits are those of today; players by their numbers."""
    start, end = weeks.bounds(*week, zone)
    rosters = rosters_of(squads)
    everybody = list(
        {place.player_id: place.player for rows in rosters.values() for place in rows}.values()
    )
    now = timezone.now()
    films = _films(squads, start, end, now)
    context = {
        "given": _feedback_counts(everybody, start, end),
        "gym": sums.week_sums(everybody, *week),
        "films": films,
        "goals": _goals_by_life(everybody),
        "words": _words_of_goals(everybody, now),
        "waiting": _open_questions(squads),
        "pains": open_counts(everybody),
        "unguarded": _without_guardian(everybody),
        "unconsented": _without_consent(everybody),
        "above": limits.above(everybody, week, zone),
        "dates": next_dates([squad.pk for squad in squads], now),
    }
    return [_one_squad(squad, rosters[squad.pk], context) for squad in squads]


def rosters_of(squads: list[Squad]) -> dict[UUID, list[SquadPlayer]]:
    """The places of each squad today with their players, by number, then by name. One query."""
    found: dict[UUID, list[SquadPlayer]] = defaultdict(list)
    places = SquadPlayer.objects.current().filter(squad__in=squads).select_related("player")
    for place in sorted(places, key=_by_number):
        found[place.squad_id].append(place)
    return found


def _by_number(place: SquadPlayer) -> tuple[Any, ...]:
    return (*roster.sort_key(place.number), place.player.full_name, str(place.pk))


def _one_squad(squad: Squad, places: list[SquadPlayer], found: dict[str, Any]) -> dict[str, Any]:
    players = [place.player for place in places]
    given = [found["given"].get(player.pk, {"sent": 0, "seen": 0}) for player in players]
    gym = [found["gym"][player.pk] for player in players]
    films = found["films"][squad.pk]
    lives: dict[str, int] = defaultdict(int)
    by_word = dict.fromkeys(WORDS, 0)
    for player in players:
        for life, number in found["goals"].get(player.pk, {}).items():
            lives[life] += number
        for word in found["words"].get(player.pk, ()):
            by_word[word] += 1
    return {
        "squad": str(squad.pk),
        "name": squad.name,
        "players": len(players),
        "with_feedback": sum(1 for row in given if row["sent"]),
        "without_feedback": [
            p.full_name for p, row in zip(players, given, strict=True) if not row["sent"]
        ],
        "sent": sum(row["sent"] for row in given),
        "seen": sum(row["seen"] for row in given),
        **films,
        "goals_by_word": by_word,
        "goals_draft": lives[Goal.Life.DRAFT],
        "goals_live": lives[Goal.Life.LIVE],
        "goals_paused": lives[Goal.Life.PAUSED],
        "goals_closed": lives[Goal.Life.CLOSED],
        "minutes_own": sum(row.minutes_own or 0 for row in gym),
        "minutes_organised": sum(row.minutes_organised or 0 for row in gym),
        "active": sum(1 for row in gym if row.workouts),
        "above_limits": sum(1 for player in players if found["above"].get(player.pk)),
        **counted(sum(r.made or 0 for r in gym), sum(r.tried or 0 for r in gym)),
        "open_questions": found["waiting"].get(squad.pk, 0),
        "open_pains": sum(found["pains"].get(player.pk, 0) for player in players),
        "no_guardian": [p.full_name for p in players if p.pk in found["unguarded"]],
        "no_consent": [p.full_name for p in players if p.pk in found["unconsented"]],
        "no_birth_date": [p.full_name for p in players if p.born_on is None],
        "next": found["dates"].get(squad.pk, []),
        "roster": [
            {
                "player": str(place.player_id),
                "number": place.number,
                "name": place.player.full_name,
                **row,
                "workouts": sums_row.workouts,
                "minutes_own": sums_row.minutes_own,
                "minutes_organised": sums_row.minutes_organised,
                **counted(sums_row.made, sums_row.tried),
            }
            for place, row, sums_row in zip(places, given, gym, strict=True)
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


def _films(
    squads: list[Squad], start: datetime, end: datetime, now: datetime
) -> dict[UUID, dict[str, Any]]:
    """For each squad: hours from the game (or, without a date, the upload) to the first comment
    sent, of films first answered in the span; and films of the last weeks without one, the oldest
    first. One query."""
    answered = Q(first__gte=start, first__lt=end)
    waited_for = Q(first=None, state=Film.State.READY, created_at__gte=now - FILMS_WAITED_FOR)
    films = (
        Film.objects.filter(squad__in=squads)
        .annotate(first=Min("comments__sent_at"))
        .filter(answered | waited_for)
        .select_related("event")
        .order_by("created_at")
    )
    hours: dict[UUID, list[float]] = defaultdict(list)
    waiting: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for film in films:
        began = film.event.ends_at if film.event else film.recorded_at or film.created_at
        if film.first is not None:
            hours[film.squad_id].append(max(0.0, (film.first - began).total_seconds() / 3600))
        else:
            days = max(0, (now - began).days)
            waiting[film.squad_id].append({"film": str(film.pk), "title": film.title, "days": days})
    return {
        squad.pk: {
            "hours_to_feedback": round(median(hours[squad.pk]), 1) if hours[squad.pk] else None,
            "each_hours": [round(one, 1) for one in hours[squad.pk]],
            "films": len(hours[squad.pk]),
            "films_waiting": sorted(waiting[squad.pk], key=lambda film: -film["days"]),
        }
        for squad in squads
    }


def _goals_by_life(players: list[Player]) -> dict[UUID, dict[str, int]]:
    rows = (
        Goal.objects.filter(player__in=players)
        .values("player", "life")
        .annotate(number=Count("pk"))
        .order_by()
    )
    found: dict[UUID, dict[str, int]] = defaultdict(dict)
    for row in rows:
        found[row["player"]][row["life"]] = row["number"]
    return found


def _words_of_goals(players: list[Player], now: datetime) -> dict[UUID, list[Word]]:
    """The status of each player's live goals, as they stand now."""
    live = list(Goal.objects.live().filter(player__in=players))
    stands = statuses(live, now)
    found: dict[UUID, list[Word]] = defaultdict(list)
    for goal in live:
        found[goal.player_id].append(stands[goal.pk].word)
    return found


def _open_questions(squads: list[Squad]) -> dict[UUID, int]:
    rows = Reply.objects.filter(thread__squad__in=squads, is_question=True, answered_at=None)
    return dict(rows.order_by().values_list("thread__squad").annotate(Count("pk")))


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
