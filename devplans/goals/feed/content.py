"""What a feed says: first names at most, no other children, no words of comments."""

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid5

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.goals.days import WEEK, this_monday
from devplans.goals.feed.ical import Entry, calendar
from devplans.goals.models import FeedToken, PlanItem
from devplans.people import lookups
from devplans.people.models import Player, Squad
from devplans.schedule.models import Event
from devplans.stats import weeks

REFRESH = timedelta(hours=6)
PAST_WEEKS = 4
PLANNED_WEEKS = 2
# Keys of rows carry the time at which they were made; those of entries say nothing.
KEYS = UUID("5f0c9a0e-3f3b-4d0a-9c54-6f1d2a7be8a1")


def feed(token: FeedToken) -> bytes:
    """The calendar behind an address, in a constant number of queries."""
    if token.player is not None:
        return calendar(_name(token.player), _of_player(token.player, token.user), refresh=REFRESH)
    squad: Any = token.squad
    return calendar(str(squad), _of_squad(squad), refresh=REFRESH)


def _name(player: Player) -> str:
    return _("%(name)s: dates and work") % {"name": player.first_name}


def _of_player(player: Player, reader: Any) -> list[Entry]:
    """A guardian's entries begin with the child's first name: there may be a brother's beside."""
    who = "" if player.user_id == reader.pk else player.first_name
    squads = lookups.squads_of(player)
    dates = _dates(squads, player.club.zone, who=who, names_squad=len(squads) > 1)
    return [*dates, *_work(player, who)]


def _of_squad(squad: Squad) -> list[Entry]:
    return [*_dates([squad], squad.club.zone), *_squad_work(squad)]


def _dates(
    squads: list[Squad], zone: str, *, who: str = "", names_squad: bool = False
) -> Iterable[Entry]:
    first = weeks.local_start(this_monday(zone) - PAST_WEEKS * WEEK, zone)
    for event in Event.objects.of_squads(squads).since(first):
        title = event.title
        if names_squad:
            title = _("%(title)s, %(squad)s") % {"title": title, "squad": event.squad.name}
        if event.cancelled_at:
            title = _("Cancelled: %(title)s") % {"title": title}
        yield Entry(
            key=uuid5(KEYS, str(event.pk)),
            start=event.starts_at,
            end=event.ends_at,
            summary=_with_name(who, title),
            stamp=event.updated_at,
            sequence=event.sequence,
            place=event.place,
            cancelled=event.cancelled_at is not None,
        )


def _with_name(who: str, title: str) -> str:
    return _("%(name)s: %(title)s") % {"name": who, "title": title} if who else title


def _work(player: Player, who: str) -> Iterable[Entry]:
    """One entry a week for each drill: this week and the next."""
    monday = this_monday(player.club.zone)
    items = list(PlanItem.objects.spanning(monday, PLANNED_WEEKS).to_work_on().of_player(player))
    for first in _mondays(monday):
        for item in items:
            if not item.is_in_week(first):
                continue
            asked = {"drill": item.drill.name, "target": item.weekly_target}
            words = _("%(drill)s: %(target)s %(unit)s this week")
            yield Entry(
                key=uuid5(KEYS, f"{item.pk} {first}"),
                start=first,
                end=first + WEEK,
                summary=_with_name(who, words % {**asked, "unit": item.get_target_in_display()}),
                stamp=item.updated_at,
                # A plan item knows no count of its changes; the seconds between grow with each.
                sequence=int((item.updated_at - item.created_at).total_seconds()),
                fills_time=False,
            )


def _mondays(monday: Any) -> list[Any]:
    return [monday + week * WEEK for week in range(PLANNED_WEEKS)]


def _squad_work(squad: Squad) -> Iterable[Entry]:
    """One entry a week: how many of the squad have which drill to do. Nobody is named."""
    monday = this_monday(squad.club.zone)
    players = Player.objects.in_squad(squad)
    items = list(
        PlanItem.objects.spanning(monday, PLANNED_WEEKS)
        .to_work_on()
        .filter(player__in=players)
        .select_related("drill")
    )
    for first in _mondays(monday):
        asked = [item for item in items if item.is_in_week(first)]
        if not asked:
            continue
        count = len({item.player_id for item in asked})
        words = ngettext("Planned work: %(count)s player", "Planned work: %(count)s players", count)
        yield Entry(
            key=uuid5(KEYS, f"{squad.pk} {first}"),
            start=first,
            end=first + WEEK,
            summary=words % {"count": count},
            stamp=max(item.updated_at for item in asked),
            words="\n".join(_drill_lines(asked)),
            fills_time=False,
        )


def _drill_lines(items: Iterable[PlanItem]) -> list[str]:
    counts = Counter(item.drill.name for item in items)
    words = _("%(drill)s: %(count)s")
    return [words % {"drill": name, "count": count} for name, count in sorted(counts.items())]
