"""Squad after squad, for coaches and directors: who got feedback, how long it took, what waits."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from statistics import median
from typing import Any
from uuid import UUID

from django.db.models import Count, Min, Q
from django.utils import timezone

from devplans.feedback.models import Delivery
from devplans.film.models import Film
from devplans.goals.models import Goal
from devplans.goals.status import WORDS
from devplans.goals.status.words import LABELS
from devplans.people import roster
from devplans.people.models import Consent, Guardianship, Player, Squad, SquadPlayer
from devplans.progress.reports import limits
from devplans.progress.reports.figures import counted
from devplans.progress.reports.players import goals_of, next_dates
from devplans.stats import weeks
from devplans.threads.models import Reply
from devplans.workouts import sums
from devplans.workouts.after.reading import open_counts

# A film that nobody has said anything about in eight weeks is not waited for any more.
FILMS_WAITED_FOR = timedelta(weeks=8)


NOTHING_GIVEN = {"sent": 0, "seen": 0}


@dataclass(frozen=True)
class Films:
    """Of one squad. hours: from the game (or, without a date, the upload) to the first comment
    sent, of each film first answered in the week. waiting: those without one."""

    hours: list[float] = field(default_factory=list)
    waiting: list[dict[str, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class SquadsRead:
    """Some squads as they are today and what they did in one week: read once, for all that is told
    of them. All but `rosters`, `films`, `questions` and `dates`, which are by squad, is by player.

    goals: live ones with their standing, as `goals_of` tells them. past: what lay past the
    published limits in the week, in words.
    """

    squads: list[Squad]
    week: weeks.Week
    zone: str
    now: datetime
    rosters: dict[UUID, list[SquadPlayer]]
    films: dict[UUID, Films]
    questions: dict[UUID, int]
    dates: dict[UUID, list[dict[str, Any]]]
    given: dict[UUID, dict[str, int]]
    gym: dict[UUID, sums.WeekSums]
    lives: dict[UUID, dict[str, int]]
    goals: dict[UUID, list[dict[str, Any]]]
    past: dict[UUID, list[str]]
    pains: dict[UUID, int]
    unguarded: set[UUID]
    unconsented: set[UUID]


def read_squads(squads: list[Squad], week: weeks.Week, zone: str) -> SquadsRead:
    """What `squad_facts`, `whole_facts` and whatever stands beside them are told from. A constant
    number of queries."""
    start, end = weeks.bounds(*week, zone)
    now = timezone.now()
    rosters = rosters_of(squads)
    players = _players(place for places in rosters.values() for place in places)
    return SquadsRead(
        squads=squads,
        week=week,
        zone=zone,
        now=now,
        rosters=rosters,
        films=_films(squads, start, end, now),
        questions=_open_questions(squads),
        dates=next_dates([squad.pk for squad in squads], now),
        given=_feedback_counts(players, start, end),
        gym=sums.week_sums(players, *week),
        lives=_goals_by_life(players),
        goals=goals_of(players, now),
        past=limits.past(players, week, zone, now),
        pains=open_counts(players),
        unguarded=_without_guardian(players),
        unconsented=_without_consent(players),
    )


def squad_facts(read: SquadsRead) -> list[dict[str, Any]]:
    """For coaches and directors: who of each squad got feedback in the week, how long it took,
    what waits, training. Rosters and what waits are those of today; players by their numbers."""
    return [
        {
            "squad": str(squad.pk),
            "name": squad.name,
            **_facts(read, read.rosters[squad.pk], [squad]),
            "next": read.dates.get(squad.pk, []),
            "roster": [_line(read, place) for place in read.rosters[squad.pk]],
        }
        for squad in read.squads
    ]


def whole_facts(read: SquadsRead) -> dict[str, Any]:
    """The same sums of all squads as one: a player of two of them counts once."""
    places = [place for squad in read.squads for place in read.rosters[squad.pk]]
    return _facts(read, places, read.squads)


def _players(places: Iterable[SquadPlayer]) -> list[Player]:
    """Each of them once."""
    return list({place.player_id: place.player for place in places}.values())


def rosters_of(squads: list[Squad]) -> dict[UUID, list[SquadPlayer]]:
    """The places of each squad today with their players, by number, then by name. One query."""
    found: dict[UUID, list[SquadPlayer]] = defaultdict(list)
    places = SquadPlayer.objects.current().filter(squad__in=squads).select_related("player")
    for place in sorted(places, key=_by_number):
        found[place.squad_id].append(place)
    return found


def _by_number(place: SquadPlayer) -> tuple[Any, ...]:
    return (*roster.sort_key(place.number), place.player.full_name, str(place.pk))


def _facts(read: SquadsRead, places: list[SquadPlayer], squads: list[Squad]) -> dict[str, Any]:
    players = _players(places)
    given = {player.pk: read.given.get(player.pk, NOTHING_GIVEN) for player in players}
    gym = [read.gym[player.pk] for player in players]
    lives: dict[str, int] = defaultdict(int)
    for player in players:
        for life, number in read.lives.get(player.pk, {}).items():
            lives[life] += number
    words = Counter(goal["word"] for player in players for goal in read.goals.get(player.pk, []))
    return {
        "players": len(players),
        "with_feedback": sum(1 for row in given.values() if row["sent"]),
        "without_feedback": [p.full_name for p in players if not given[p.pk]["sent"]],
        "sent": sum(row["sent"] for row in given.values()),
        "seen": sum(row["seen"] for row in given.values()),
        **_film_facts([read.films[squad.pk] for squad in squads]),
        "goals_by_status": [
            {"word": word, "label": str(LABELS[word]), "goals": words[word]} for word in WORDS
        ],
        "goals_draft": lives[Goal.Life.DRAFT],
        "goals_live": lives[Goal.Life.LIVE],
        "goals_paused": lives[Goal.Life.PAUSED],
        "goals_closed": lives[Goal.Life.CLOSED],
        "minutes_own": sum(row.minutes_own or 0 for row in gym),
        "minutes_organised": sum(row.minutes_organised or 0 for row in gym),
        "active": sum(1 for row in gym if row.workouts),
        "past_hours": sum(1 for player in players if player.pk in read.past),
        **counted(sum(r.made or 0 for r in gym), sum(r.tried or 0 for r in gym)),
        "open_questions": sum(read.questions.get(squad.pk, 0) for squad in squads),
        "open_pains": sum(read.pains.get(player.pk, 0) for player in players),
        "no_guardian": [p.full_name for p in players if p.pk in read.unguarded],
        "no_consent": [p.full_name for p in players if p.pk in read.unconsented],
        "no_birth_date": [p.full_name for p in players if p.born_on is None],
    }


def _line(read: SquadsRead, place: SquadPlayer) -> dict[str, Any]:
    gym = read.gym[place.player_id]
    return {
        "player": str(place.player_id),
        "number": place.number,
        "name": place.player.full_name,
        **read.given.get(place.player_id, NOTHING_GIVEN),
        "workouts": gym.workouts,
        "minutes_own": gym.minutes_own,
        "minutes_organised": gym.minutes_organised,
        **counted(gym.made, gym.tried),
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


def _films(squads: list[Squad], start: datetime, end: datetime, now: datetime) -> dict[UUID, Films]:
    """By squad: films first answered in the span, and films of the last weeks without a comment.
    One query."""
    answered = Q(first__gte=start, first__lt=end)
    waited_for = Q(first=None, state=Film.State.READY, created_at__gte=now - FILMS_WAITED_FOR)
    films = (
        Film.objects.filter(squad__in=squads)
        .annotate(first=Min("comments__sent_at"))
        .filter(answered | waited_for)
        .select_related("event")
        .order_by("created_at")
    )
    found = {squad.pk: Films() for squad in squads}
    for film in films:
        began = film.event.ends_at if film.event else film.recorded_at or film.created_at
        if film.first is not None:
            hours = max(0.0, (film.first - began).total_seconds() / 3600)
            found[film.squad_id].hours.append(hours)
        else:
            days = max(0, (now - began).days)
            found[film.squad_id].waiting.append(
                {"film": str(film.pk), "title": film.title, "days": days}
            )
    return found


def _film_facts(films: list[Films]) -> dict[str, Any]:
    hours = [one for row in films for one in row.hours]
    waiting = [film for row in films for film in row.waiting]
    return {
        "hours_to_feedback": round(median(hours), 1) if hours else None,
        "each_hours": [round(one, 1) for one in hours],
        "films": len(hours),
        "films_waiting": sorted(waiting, key=lambda film: -film["days"]),
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
