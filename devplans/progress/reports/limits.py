"""Whose week lay past the hours that are published for his age: for a director's eyes."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.people.models import ADULT_AGE, Player
from devplans.stats import hours, weeks
from devplans.workouts.after import reading, youth
from devplans.workouts.after.weekly import known_week
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
    years of age; of the hours we know of. Two queries. No birth date: no limit is guessed at.
    """
    players = list(players)
    sessions = reading.sessions_of(players, *weeks.bounds(*week, zone))
    told = {row.player_id: row for row in OtherHours.objects.of_weeks(players, [week])}
    found = {}
    for player in players:
        elsewhere = reading.elsewhere_of(told.get(player.pk))
        known = known_week(sessions[player.pk], elsewhere, week, zone)
        past = _past(player, known.organised, known.sport, week)
        if past:
            found[player.pk] = past
    return found


def _past(player: Player, organised: int, sport: int, week: weeks.Week) -> list[Above]:
    monday = weeks.monday(*week)
    if player.born_on is None or not player.is_minor(monday):
        return []
    age = youth.age_on(player.born_on, monday)
    limits = hours.limits(age, youth.grade_of(player.grade))
    found = []
    if age < ADULT_AGE and limits and hours.over_limit(organised / MINUTES, limits):
        words = _("%(time)s of team basketball; %(limit)s h a week are published for %(band)s") % {
            "time": duration(organised),
            "limit": limits.organised,
            "band": youth.band_words(limits),
        }
        found.append(Above(organised, limits.organised, words))
    if age < ADULT_AGE and hours.over_age(sport / MINUTES, age):
        words = _("%(time)s of training in all, more hours than years of age (%(age)s)") % {
            "time": duration(sport),
            "age": age,
        }
        found.append(Above(sport, age, words))
    return found
