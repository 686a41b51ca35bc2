"""What was counted on film and what was logged in the gym, week by week, for one skill each."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.core.charts import Point, Strip
from devplans.people.models import Player
from devplans.progress.beside import words
from devplans.stats import weeks
from devplans.stats.together import Link, Pair, link
from devplans.stats.trend import drawn_line
from devplans.tallies.models import TallyWeek
from devplans.tallies.rates import FilmRate, film_rate, week_rows
from devplans.workouts.models import DrillWeek

WEEKS_SHOWN = 26


@dataclass
class Work:
    """What was logged in one week for the drills of a skill. amount: reps and tries."""

    amount: int = 0
    made: int = 0
    tried: int = 0


@dataclass(frozen=True)
class Week:
    """film: None where nothing was counted. work: None where nothing was logged."""

    week: weeks.Week
    film: FilmRate | None
    work: Work | None

    @property
    def label(self) -> str:
        return str(self.week[1])

    @property
    def number(self) -> int:
        return weeks.monday(*self.week).toordinal() // 7


@dataclass(frozen=True)
class Beside:
    """One skill: its weeks, oldest first, from the first one in which there is anything.

    coach: who counted the film; is_part: others counted too, and theirs are not added to it.
    """

    skill: Skill
    weeks: Sequence[Week]
    coach: str
    is_part: bool = field(default=False)

    @property
    def label(self) -> str:
        return self.skill.name

    @property
    def labels(self) -> list[str]:
        return [week.label for week in self.weeks]

    @property
    def strips(self) -> list[Strip]:
        """Film, the share of makes where makes were counted, and how much was done."""
        film = tuple(map(_film_point, self.weeks))
        made = tuple(map(_gym_point, self.weeks))
        strips = [Strip(_("On film, %"), shares=film, trend=_trend(film))]
        if any(point.tried for point in made):
            strips.append(Strip(_("Gym: made, %"), shares=made, is_open=True, trend=_trend(made)))
        amounts = tuple(week.work.amount if week.work else None for week in self.weeks)
        strips.append(Strip(_("Gym: reps and tries"), counts=amounts))
        return strips

    @property
    def has_trend(self) -> bool:
        return any(strip.trend for strip in self.strips)

    @cached_property
    def link(self) -> Link:
        """A week without anything logged counts as none done, once logging has begun."""
        first = next(index for index, week in enumerate(self.weeks) if week.work)
        return link(
            [
                Pair(
                    number=week.number,
                    made=week.film.made if week.film else 0,
                    tried=week.film.tried if week.film else 0,
                    work=_amount(week.work) if index >= first else None,
                )
                for index, week in enumerate(self.weeks)
                if week.film or week.work
            ]
        )

    @property
    def sentences(self) -> list[str]:
        return words.sentences(self.link)


def of_player(player: Player, now: datetime) -> list[Beside]:
    """Each skill that was counted on film and worked on in the gym within the last 26 whole weeks,
    by name. Three queries. player: read `select_related("club")`."""
    last = weeks.last_complete_week(now, player.club.zone)
    shown = weeks.weeks_until(last, WEEKS_SHOWN)
    films = _films(player, set(shown))
    works = _works(player, shown)
    both = Skill.objects.filter(pk__in=films.keys() & works.keys()).order_by("name", "pk")
    return [_beside(skill, shown, films[skill.pk], works[skill.pk]) for skill in both]


def _films(player: Player, shown: set[weeks.Week]) -> dict[UUID, list[TallyWeek]]:
    found: dict[UUID, list[TallyWeek]] = {}
    for (_player, skill), rows in week_rows([player]).items():
        within = [row for row in rows if (row.iso_year, row.iso_week) in shown]
        if within:
            found[skill] = within
    return found


def _works(player: Player, shown: list[weeks.Week]) -> dict[UUID, dict[weeks.Week, Work]]:
    rows = DrillWeek.objects.filter(player=player).between_weeks(shown[0], shown[-1]).order_by()
    found: dict[UUID, dict[weeks.Week, Work]] = defaultdict(lambda: defaultdict(Work))
    names = ("drill__skill", "iso_year", "iso_week", "reps", "made", "tried")
    for skill, iso_year, iso_week, reps, made, tried in rows.values_list(*names):
        if not reps and not tried:
            continue
        work = found[skill][(iso_year, iso_week)]
        work.amount += (reps or 0) + (tried or 0)
        work.made += made or 0
        work.tried += tried or 0
    return {skill: dict(by_week) for skill, by_week in found.items()}


def _beside(
    skill: Skill, shown: list[weeks.Week], films: list[TallyWeek], works: dict[weeks.Week, Work]
) -> Beside:
    """The film as the coach counted it who counted most: two coaches' counts are never one."""
    chances: Counter[Any] = Counter()
    for row in films:
        chances[row.tally.coach_id] += row.tried
    chosen = max(chances, key=lambda coach: (chances[coach], str(coach)))
    by_week: dict[weeks.Week, list[TallyWeek]] = defaultdict(list)
    for row in films:
        if row.tally.coach_id == chosen:
            by_week[(row.iso_year, row.iso_week)].append(row)
    rates = {week: film_rate(rows) for week, rows in by_week.items()}
    begun = min(*by_week, *works)
    found = [Week(week, rates.get(week), works.get(week)) for week in shown if week >= begun]
    coach = next(rate.coach for rate in rates.values() if rate)
    return Beside(skill, found, coach, is_part=len(chances) > 1)


def _amount(work: Work | None) -> int:
    return work.amount if work else 0


def _film_point(week: Week) -> Point:
    film = week.film
    if film is None:
        return Point(week.label, 0, 0)
    return Point(week.label, film.made, film.tried, film.low, film.high)


def _trend(points: Sequence[Point]) -> tuple[float, float] | None:
    return drawn_line([point.made / point.tried if point.tried else None for point in points])


def _gym_point(week: Week) -> Point:
    work = week.work or Work()
    return Point(week.label, work.made, work.tried)
