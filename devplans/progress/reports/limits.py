"""Whose week lay past the hours that are published for his age: for a director's eyes."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.people.models import Player
from devplans.stats import hours, weeks
from devplans.workouts.after import reading, youth
from devplans.workouts.after.weekly import KnownWeek, known_week
from devplans.workouts.attendance.reading import attended
from devplans.workouts.models import OtherHours
from devplans.workouts.wording import duration

MINUTES = 60


@dataclass(frozen=True)
class Above:
    """One player's week past a published figure: minutes of what, against how many hours."""

    minutes: int
    limit: int
    words: str


def above(players: Iterable[Player], week: weeks.Week, zone: str) -> dict[UUID, list[Above]]:
    """What lay above the published hours in the week, by player; nobody else is in it.

    Team basketball here and elsewhere against the limit for the age, and all training against the
    years of age; of the hours we know of. A constant number of queries. Without a birth date no
    limit is guessed at.
    """
    players, span = list(players), weeks.bounds(*week, zone)
    sessions, dates = reading.sessions_of(players, *span), attended(players, *span)
    told = {row.player_id: row for row in OtherHours.objects.of_weeks(players, [week])}
    found = {}
    for player in players:
        elsewhere = reading.elsewhere_of(told.get(player.pk))
        known = known_week(sessions[player.pk], elsewhere, week, zone, dates[player.pk])
        past = _past(known, youth.against(player, known, week, is_over=False))
        if past:
            found[player.pk] = past
    return found


def _past(known: KnownWeek, beside: youth.Against) -> list[Above]:
    found = []
    limits, age = beside.limits, beside.age
    if limits and hours.over_limit(known.organised / MINUTES, limits):
        words = _("%(time)s of team basketball; %(limit)s h a week are published for %(band)s") % {
            "time": duration(known.organised),
            "limit": limits.organised,
            "band": youth.band_words(limits),
        }
        found.append(Above(known.organised, limits.organised, words))
    if age is not None and not beside.is_adult and hours.over_age(known.sport / MINUTES, age):
        words = _("%(time)s of training in all, more hours than years of age (%(age)s)") % {
            "time": duration(known.sport),
            "age": age,
        }
        found.append(Above(known.sport, age, words))
    return found
