"""A week held against the published limits for the player's age and grade, in sentences."""

import re
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.people.models import ADULT_AGE, Player
from devplans.stats import hours, weeks
from devplans.workouts.after.weekly import KnownWeek
from devplans.workouts.wording import duration

_GRADE = re.compile(r"(?:grade\s*)?([1-9]|1[0-2])(?:st|nd|rd|th)?(?:\s*grade)?\.?", re.IGNORECASE)
MINUTES = 60


@dataclass(frozen=True)
class Remark:
    """One sentence. is_past: the week lies past what is published."""

    words: str
    is_past: bool


@dataclass(frozen=True)
class Against:
    """What is published for the player, and what his week says beside it. lacks_birth_date: it is
    asked for, nothing is guessed. limits: None for an adult and where nothing is published."""

    limits: hours.Limits | None = None
    age: int | None = None
    is_adult: bool = False
    lacks_birth_date: bool = False
    remarks: list[Remark] = field(default_factory=list)

    @property
    def past(self) -> list[Remark]:
        return [remark for remark in self.remarks if remark.is_past]

    @property
    def is_noted(self) -> bool:
        """Is there anything that a coach should look at?"""
        return self.lacks_birth_date or bool(self.past)


def grade_of(text: str) -> int | None:
    """The school grade, 1 to 12, that "9", "9th" or "grade 9" names; None for anything else. A
    "Year 10" is another country's count, and is not guessed at."""
    found = _GRADE.fullmatch(text.strip())
    return int(found[1]) if found else None


def age_on(born_on: date, day: date) -> int:
    """Age in whole years on `day`; who was born on 29 February turns a year older on 1 March."""
    return day.year - born_on.year - ((day.month, day.day) < (born_on.month, born_on.day))


def band_words(limits: hours.Limits) -> str:
    """ "ages 12 to 14", "grades 9 to 12"."""
    words = {
        hours.SEVEN.band: _("ages 7 and 8"),
        hours.NINE.band: _("ages 9 to 11"),
        hours.TWELVE.band: _("ages 12 to 14"),
        hours.HIGH_SCHOOL.band: _("grades 9 to 12"),
    }
    return words[limits.band]


def against(player: Player, known: KnownWeek, week: weeks.Week, *, is_over: bool) -> Against:
    """The week of `player` beside the published limits.

    The age is the one of the week's Monday: the limit of the younger holds for a birthday's week.
    is_over: the week is complete; only then are its rest days counted.
    """
    if player.born_on is None:
        return Against(lacks_birth_date=True)
    monday = weeks.monday(*week)
    age = age_on(player.born_on, monday)
    if age >= ADULT_AGE or not player.is_minor(monday + timedelta(days=6)):
        return Against(age=age, is_adult=True)
    limits = hours.limits(age, grade_of(player.grade))
    when = _("Last week") if is_over else _("This week so far")
    found = [] if limits is None else [_team_hours(known, limits, when)]
    if limits is not None and is_over and not known.is_empty and known.rest_days < limits.rest_days:
        found.append(_rest(known, limits))
    if hours.over_age(known.sport / MINUTES, age):
        found.append(_sport(known, age, when))
    if is_over and (words := _organised_to_free(known)):
        found.append(Remark(words, False))
    return Against(limits=limits, age=age, remarks=found)


def _team_hours(known: KnownWeek, limits: hours.Limits, when: str) -> Remark:
    is_past = hours.over_limit(known.organised / MINUTES, limits)
    if is_past:
        words = _(
            "%(when)s: %(time)s of team basketball, of the hours we know of. That is more than the "
            "%(limit)s h a week published for %(band)s (%(source)s). This is not medical advice."
        )
    else:
        words = _(
            "%(when)s: %(time)s of team basketball, of the hours we know of; %(limit)s h a week "
            "are published as the most for %(band)s (%(source)s). This is not medical advice."
        )
    return Remark(
        words
        % {
            "when": when,
            "time": duration(known.organised),
            "limit": limits.organised,
            "band": band_words(limits),
            "source": hours.SOURCE,
        },
        is_past,
    )


def _rest(known: KnownWeek, limits: hours.Limits) -> Remark:
    had = ngettext(
        "%(count)s day with nothing logged last week",
        "%(count)s days with nothing logged last week",
        known.rest_days,
    ) % {"count": known.rest_days}
    words = _(
        "%(had)s, as far as we know; at least %(least)s a week without training is published for "
        "%(band)s (%(source)s). This is not medical advice."
    )
    return Remark(
        words
        % {
            "had": had,
            "least": limits.rest_days,
            "band": band_words(limits),
            "source": hours.SOURCE,
        },
        True,
    )


def _sport(known: KnownWeek, age: int, when: str) -> Remark:
    words = _(
        "%(when)s: %(time)s of training in all, of the hours we know of, which is more hours than "
        "years of age (%(age)s). %(source)s draw that line; it is a reason to talk, no diagnosis "
        "and not medical advice."
    )
    return Remark(
        words
        % {"when": when, "time": duration(known.sport), "age": age, "source": hours.SPORT_SOURCE},
        True,
    )


def _organised_to_free(known: KnownWeek) -> str:
    """Training that somebody leads beside free play, in any sport; "" where the family has told of
    no free play. Own shooting is neither."""
    organised = known.organised + (known.other_sport or 0)
    free = known.free_play or 0
    if not hours.mostly_organised(organised, free):
        return ""
    return _(
        "Last week: %(organised)s of training that somebody leads and %(free)s of free play, of "
        "the hours we know of: more than two to one. Among young athletes of one study that went "
        "along with more serious overuse injuries (%(source)s): an association, no cause and no "
        "diagnosis; a reason to talk. This is not medical advice."
    ) % {"organised": duration(organised), "free": duration(free), "source": hours.SPORT_SOURCE}
