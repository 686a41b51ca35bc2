"""The squad of today and what closed tallies say of it: read once, for the board and the practice.

Only films of the squad count here. Counts of different coaches are never added: of each skill one
coach's whole films stand first, the one with most chances; all others stand beside them.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Max
from django.db.models.functions import Coalesce

from devplans.catalogue.models import Skill
from devplans.feedback.models import Delivery
from devplans.goals.models import Goal
from devplans.people.models import Player, Squad
from devplans.people.roster import sort_key
from devplans.stats import weeks
from devplans.tallies.models import Tally, TallyWeek
from devplans.tallies.roster import film_day

Pair = tuple[UUID, UUID]
RECENT_WEEKS = 8


@dataclass(frozen=True)
class Line:
    player: Player
    number: str


def roster_of(squad: Squad) -> list[Line]:
    """The players of today by number, each once; never by what they can do."""
    places = squad.squadplayers.current().select_related("player").order_by("-since", "pk")
    found: dict[UUID, Line] = {}
    for place in places:
        found.setdefault(place.player_id, Line(place.player, place.number))
    return sorted(found.values(), key=lambda one: (*sort_key(one.number), one.player.full_name))


def recent(squad: Squad, now: datetime) -> date:
    """The Monday with which the last eight weeks begin, this one among them."""
    week = weeks.week_of(now, squad.season.club.zone)
    return weeks.monday(*week) - timedelta(weeks=RECENT_WEEKS - 1)


@dataclass
class SquadCounts:
    """tallies: the closed ones of films since a day, by key. rows: what they say of the players of
    today. counted: the players whom a tally is about."""

    tallies: dict[UUID, Tally]
    rows: list[TallyWeek]
    counted: dict[UUID, set[UUID]]
    by_skill: dict[UUID, list[TallyWeek]] = field(default_factory=lambda: defaultdict(list))
    asked: dict[UUID, list[Tally]] = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self) -> None:
        for row in self.rows:
            self.by_skill[row.skill_id].append(row)
        for tally in self.tallies.values():
            for skill in tally.skills.all():
                self.asked[skill.pk].append(tally)

    def skills(self) -> set[UUID]:
        """What was counted, also where nobody had a chance."""
        return set(self.asked)

    def of_skill(self, skill: UUID) -> list[Tally]:
        """The tallies that looked for its chances, the oldest first."""
        return self.asked.get(skill, [])

    def first_coach(self, skill: UUID) -> UUID | None:
        """Whose whole films stand first: most chances, then the latest film."""
        found: dict[UUID | None, list[Any]] = {}
        for row in self.by_skill.get(skill, []):
            if row.low is None:
                so_far = found.setdefault(row.tally.coach_id, [0, row.film_on])
                so_far[0] += row.tried
                so_far[1] = max(so_far[1], row.film_on)
        if found:
            return max(found, key=lambda coach: (*found[coach], str(coach)))
        whole = [tally for tally in self.of_skill(skill) if not tally.is_sample]
        return whole[-1].coach_id if whole else None

    def films(self, skill: UUID, coach: UUID | None) -> list[tuple[int, int]]:
        """(made, tried) of the squad on each whole film of one coach; (0, 0) where it never came
        up."""
        found: dict[UUID, list[int]] = {}
        for tally in self.of_skill(skill):
            if not tally.is_sample and tally.coach_id == coach:
                found.setdefault(tally.film_id, [0, 0])
        for row in self.by_skill.get(skill, []):
            if row.low is None and row.tally.coach_id == coach:
                film = found.setdefault(row.tally.film_id, [0, 0])
                film[0] += row.made
                film[1] += row.tried
        return [(made, tried) for made, tried in found.values()]


def counts_of(squad: Squad, players: list[Player], since: date) -> SquadCounts:
    """What was counted of `players` on films of `squad` since a day, in four queries."""
    closed = Tally.objects.closed().filter(film__squad=squad)
    closed = closed.select_related("coach", "film__event", "film__squad__season__club")
    tallies = {
        tally.pk: tally
        for tally in closed.prefetch_related("skills").order_by("created_at")
        if film_day(tally.film) >= since
    }
    rows = list(
        TallyWeek.objects.filter(tally__in=tallies, player__in=players).order_by("film_on", "pk")
    )
    for row in rows:
        row.tally = tallies[row.tally_id]
    counted: dict[UUID, set[UUID]] = defaultdict(set)
    through = Tally.players.through.objects.filter(tally__in=tallies)
    for tally_id, player_id in through.values_list("tally", "player"):
        counted[tally_id].add(player_id)
    return SquadCounts(tallies, rows, counted)


def skills_of(keys: set[UUID]) -> list[Skill]:
    """By family and name: the order of the catalogue, which says nothing of need."""
    return list(Skill.objects.filter(pk__in=keys).order_by("family", "name", "pk"))


def live_goals(players: list[Player]) -> list[Goal]:
    return list(Goal.objects.live().filter(player__in=players).order_by("created_at"))


def last_on_film(squad: Squad, players: list[Player]) -> dict[UUID, date]:
    """The day of the latest film of the squad on which each player was counted or got a comment."""
    zone = ZoneInfo(squad.season.club.zone)
    counted = TallyWeek.objects.filter(tally__film__squad=squad, player__in=players)
    found = dict(counted.order_by().values_list("player").annotate(last=Max("film_on")))
    day = Coalesce(
        "comment__film__event__starts_at", "comment__film__recorded_at", "comment__film__created_at"
    )
    told = Delivery.objects.standing().filter(comment__film__squad=squad, player__in=players)
    for player_id, moment in told.order_by().values_list("player").annotate(last=Max(day)):
        on = moment.astimezone(zone).date()
        found[player_id] = max(on, found.get(player_id, on))
    return found
