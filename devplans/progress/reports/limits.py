"""Whose week lay past what is published for his age: hours with the team, all training, rest."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.people.models import Player
from devplans.stats import hours, weeks
from devplans.workouts.after import reading, youth
from devplans.workouts.after.weekly import KnownWeek, known_week
from devplans.workouts.attendance.reading import attended
from devplans.workouts.models import OtherHours
from devplans.workouts.wording import duration

MINUTES = 60


def past(
    players: Iterable[Player], week: weeks.Week, zone: str, now: datetime
) -> dict[UUID, list[str]]:
    """What lay past the published figures in the week, a sentence each, by player; nobody else is
    in it.

    Team basketball here and elsewhere against the limit for the age, all training against the
    years of age; once the week is over, days without anything logged too. Of the hours we know of.
    A constant number of queries. Without a birth date no limit is guessed at.
    """
    players, span = list(players), weeks.bounds(*week, zone)
    sessions, dates = reading.sessions_of(players, *span), attended(players, *span)
    told = {row.player_id: row for row in OtherHours.objects.of_weeks(players, [week])}
    found = {}
    for player in players:
        elsewhere = reading.elsewhere_of(told.get(player.pk))
        known = known_week(sessions[player.pk], elsewhere, week, zone, dates[player.pk])
        is_over = span[1] <= now
        beside = youth.against(player, known, week, is_over=is_over)
        if beside.past:
            found[player.pk] = _words(known, beside, is_over=is_over)
    return found


def _words(known: KnownWeek, beside: youth.Against, *, is_over: bool) -> list[str]:
    """Shorter than what a family reads, for a table of many players and any week."""
    found = []
    limits, age = beside.limits, beside.age
    if limits and hours.over_limit(known.organised / MINUTES, limits):
        words = _("%(time)s of team basketball; %(limit)s h a week are published for %(band)s")
        found.append(
            words
            % {
                "time": duration(known.organised),
                "limit": limits.organised,
                "band": youth.band_words(limits),
            }
        )
    if limits and is_over and known.rest_days < limits.rest_days:
        words = ngettext(
            "%(had)s day with nothing logged; at least %(least)s a week is published for %(band)s",
            "%(had)s days with nothing logged; at least %(least)s a week is published for %(band)s",
            known.rest_days,
        )
        values = {"had": known.rest_days, "least": limits.rest_days}
        found.append(words % {**values, "band": youth.band_words(limits)})
    if hours.over_age(known.sport / MINUTES, age):
        words = _("%(time)s of training in all, more hours than years of age (%(age)s)")
        found.append(words % {"time": duration(known.sport), "age": age})
    return found
