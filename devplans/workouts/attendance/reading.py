"""Who is in the squad on the day of a date, with what was ticked, and what was attended."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from devplans.people.models import Player, SquadPlayer
from devplans.schedule.models import Event
from devplans.workouts.after.weekly import Attended
from devplans.workouts.attendance.models import Attendance

# Whoever comes early is ticked at the door; an excuse may come days before.
EARLY = timedelta(hours=1)


@dataclass(frozen=True)
class Ticked:
    """A player's line; state: of `Attendance.State`, or "" where nobody has said."""

    player: Player
    number: str
    state: str


def places_on(event: Event) -> list[SquadPlayer]:
    """Who was in the squad on the day of the event, by the club's clock; each player once."""
    day = event.starts_at.astimezone(ZoneInfo(event.zone)).date()
    rows = event.squad.squadplayers.on(day).select_related("player").order_by("since")
    return list({row.player_id: row for row in rows}.values())


def has_begun(event: Event) -> bool:
    """May somebody be present or absent by now?"""
    return timezone.now() >= event.starts_at - EARLY


def ticked(event: Event) -> list[Ticked]:
    """The lines of the page, by number as the squad has them."""
    states = dict(Attendance.objects.of_event(event).values_list("player", "state"))
    rows = [
        Ticked(place.player, place.number, states.get(place.player_id, ""))
        for place in places_on(event)
    ]
    return sorted(rows, key=lambda row: (row.number.zfill(3), row.player.full_name))


def counts(rows: Iterable[Ticked]) -> dict[str, int]:
    """How many are present, excused, absent, and `open`."""
    found = Counter(row.state or "open" for row in rows)
    return {name: found[name] for name in (*Attendance.State.values, "open")}


def attended(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[Attended]]:
    """The dates in [start, end) that are over and at which each player was present."""
    rows = Attendance.objects.present_between(start, min(end, timezone.now()))
    rows = rows.filter(player__in=list(players), event__ends_at__lte=timezone.now())
    found: dict[UUID, list[Attended]] = defaultdict(list)
    facts = rows.values_list("player", "event__starts_at", "event__ends_at")
    for player_id, *span in facts.order_by("event__starts_at", "event__ends_at"):
        found[player_id].append(Attended(*span))
    return found
