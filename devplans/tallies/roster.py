"""The players who may be counted on a film, and its day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from devplans.film.models import Film
from devplans.people.access import current
from devplans.people.models import Player, SquadPlayer


@dataclass(frozen=True)
class Entry:
    """A player and the number that means him; empty where he has none."""

    player: Player
    number: str


def film_day(film: Film) -> date:
    """The day of the film on the club's wall clock: its event's, its own, or that of its upload."""
    moment = film.recorded_at or film.created_at
    if film.event is not None:
        moment = film.event.starts_at
    return moment.astimezone(ZoneInfo(film.squad.season.club.zone)).date()


def roster(film: Film) -> list[Entry]:
    """Who was in the film's squad on its day or is today, by number."""
    day = film_day(film)
    on_the_day = Q(since__lte=day) & (Q(until=None) | Q(until__gte=day))
    rows = SquadPlayer.objects.filter(on_the_day | current(""), squad=film.squad_id)
    return _entries(rows.select_related("player").order_by("since"), day)


def counted(film: Film, players: list[Player]) -> list[Entry]:
    """The chosen players of a tally with their numbers, also those who have left since."""
    day = film_day(film)
    rows = SquadPlayer.objects.filter(squad=film.squad_id, player__in=players)
    found = _entries(rows.select_related("player").order_by("since"), day)
    there = {entry.player.pk for entry in found}
    return found + [Entry(player, "") for player in players if player.pk not in there]


def _entries(rows: Iterable[SquadPlayer], day: date) -> list[Entry]:
    """One entry per player: his number of the film's day before a later one."""
    found: dict[UUID, tuple[bool, Entry]] = {}
    for row in rows:
        held = row.since <= day and (row.until is None or row.until >= day)
        before = found.get(row.player_id)
        if before is None or held or not before[0]:
            found[row.player_id] = (held, Entry(row.player, row.number))
    return sorted((entry for _held, entry in found.values()), key=_by_number)


def _by_number(entry: Entry) -> tuple[int, str, str]:
    number = entry.number
    return (int(number) if number.isdecimal() else 999, number, entry.player.full_name)
