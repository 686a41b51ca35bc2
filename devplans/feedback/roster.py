"""Who may be on a comment of a film: the squad on the film's day, and the squad of today."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from devplans.feedback.naming import Named
from devplans.film.models import Film
from devplans.people.access import current
from devplans.people.models import Player, SquadPlayer


@dataclass
class Entry:
    """A player with his numbers, that of the film's day first."""

    player: Player
    numbers: list[str] = field(default_factory=list)

    @property
    def number(self) -> str:
        return self.numbers[0] if self.numbers else ""

    @property
    def named(self) -> Named:
        return Named(self.player.first_name, self.player.last_name, tuple(self.numbers))


def film_day(film: Film) -> date:
    """The day of the film on the club's wall clock: its event's, its own, or that of its upload."""
    moment: datetime = film.created_at
    if film.event is not None:
        moment = film.event.starts_at
    elif film.recorded_at is not None:
        moment = film.recorded_at
    return moment.astimezone(ZoneInfo(film.squad.season.club.zone)).date()


def by_number(entry: Entry) -> tuple[int, str, str]:
    number = entry.number
    return (int(number) if number.isdecimal() else 999, number, entry.player.full_name)


def roster(film: Film, *, extra: Iterable[Player] = ()) -> list[Entry]:
    """The players of the film's squad on its day or today, by number.

    extra: players who were there when a comment was written, kept whatever has changed since.
    """
    day = film_day(film)
    on_the_day = Q(since__lte=day) & (Q(until=None) | Q(until__gte=day))
    rows = SquadPlayer.objects.filter(on_the_day | current(""), squad=film.squad_id)
    found: dict[UUID, Entry] = {}
    for row in sorted(rows.select_related("player"), key=lambda row: not _held(row, day)):
        entry = found.setdefault(row.player_id, Entry(row.player))
        if row.number and row.number not in entry.numbers:
            entry.numbers.append(row.number)
    gone = {player.pk: Entry(player) for player in extra if player.pk not in found}
    if gone:
        _add_old_numbers(film, gone)
    found |= gone
    return sorted(found.values(), key=by_number)


def _add_old_numbers(film: Film, gone: dict[UUID, Entry]) -> None:
    """What a player who left once wore still means him in words about this film."""
    rows = SquadPlayer.objects.filter(squad=film.squad_id, player__in=gone)
    for player_id, number in rows.order_by("-since").values_list("player", "number"):
        if number and number not in gone[player_id].numbers:
            gone[player_id].numbers.append(number)


def _held(row: SquadPlayer, day: date) -> bool:
    return row.since <= day and (row.until is None or row.until >= day)


def named_except(entries: Iterable[Entry], *player_ids: Any) -> list[Named]:
    """Those of `entries` whom words to `player_ids` must not name."""
    return [entry.named for entry in entries if entry.player.pk not in player_ids]
