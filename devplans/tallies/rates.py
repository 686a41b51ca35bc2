"""What may be said of how often a player does something on film: from closed tallies only.

Counts of different coaches are never added up, and a sample keeps its own interval.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.people.models import Player
from devplans.stats.proportions import wilson_interval
from devplans.tallies.models import TallyWeek


@dataclass(frozen=True)
class FilmRate:
    """Chances taken of chances had, as one coach counted them.

    low, high: 0..1; the Wilson interval of whole films, or where the full count of the one
    sampled film would lie. others: what other counts say, apart from this one. coach_id: None for
    a former coach. counts: (day, made, tried) of each film, the oldest first.
    """

    made: int
    tried: int
    low: float
    high: float
    films: int
    coach: str
    is_sample: bool
    latest_on: date
    coach_id: UUID | None = None
    counts: tuple[tuple[date, int, int], ...] = ()
    others: tuple["FilmRate", ...] = ()

    @property
    def source(self) -> str:
        """Where the count comes from, in words."""
        if self.is_sample:
            words = _("counted in a sample of one film")
        else:
            words = ngettext(
                "counted on %(films)s film", "counted on %(films)s films", self.films
            ) % {"films": self.films}
        return _("%(words)s by %(coach)s") % {"words": words, "coach": self.coach}

    @property
    def words(self) -> str:
        """The count before any claim: what it is, what its interval is, whose it is."""
        found = [
            _("Took %(made)s of %(tried)s chances, %(source)s.")
            % {"made": self.made, "tried": self.tried, "source": self.source},
            _("The whiskers show where a full count of that film would lie.")
            if self.is_sample
            else _("The whiskers show where the long-run rate may lie."),
        ]
        if self.others:
            found.append(self.others_words)
        return " ".join(found)

    @property
    def others_words(self) -> str:
        """What other counts say and is not added; "" where there are none."""
        if not self.others:
            return ""
        rows = "; ".join(
            _("%(made)s of %(tried)s, %(source)s")
            % {"made": one.made, "tried": one.tried, "source": one.source}
            for one in self.others
        )
        return _("Not added to it: %(rows)s.") % {"rows": rows}


def week_rows(
    players: Iterable[Any], *, skills: Iterable[UUID] | None = None
) -> dict[tuple[UUID, UUID], list[TallyWeek]]:
    """The week rows of closed tallies by (player, skill), the oldest first. One query.

    players: rows or their keys; skills: keys, all without.
    """
    found: dict[tuple[UUID, UUID], list[TallyWeek]] = defaultdict(list)
    rows = TallyWeek.objects.filter(player__in=players).select_related("tally__coach")
    if skills is not None:
        rows = rows.filter(skill__in=skills)
    for row in rows.order_by("film_on", "pk"):
        found[(row.player_id, row.skill_id)].append(row)
    return found


def film_rate(
    rows: Iterable[TallyWeek], *, since: date | None = None, until: date | None = None
) -> FilmRate | None:
    """The rate of one player and skill from its `week_rows`; None when no chance was counted.

    since, until: days of the films, both included. Of several counts that must not be added up,
    the one of most chances comes first.
    """
    groups = _groups(row for row in rows if _within(row.film_on, since, until))
    if not groups:
        return None
    rates = [_rate(group) for group in groups]
    rates.sort(key=lambda rate: (rate.tried, rate.latest_on), reverse=True)
    first, *others = rates
    return FilmRate(**{**first.__dict__, "others": tuple(others)})


def rate_of(player: Player, skill_id: UUID, *, since: date | None = None) -> FilmRate | None:
    """`film_rate` of one player and skill, read by itself."""
    return film_rate(week_rows([player]).get((player.pk, skill_id), []), since=since)


def _within(day: date, since: date | None, until: date | None) -> bool:
    return (since is None or day >= since) and (until is None or day <= until)


def _groups(rows: Iterable[TallyWeek]) -> list[list[TallyWeek]]:
    """One coach's whole films together; each of his samples alone, unless he counted that film."""
    rows = list(rows)
    whole: dict[Any, list[TallyWeek]] = defaultdict(list)
    for row in rows:
        if row.low is None:
            whole[row.tally.coach_id].append(row)
    films = {(coach, row.tally.film_id) for coach, group in whole.items() for row in group}
    samples = [
        [row]
        for row in rows
        if row.low is not None and (row.tally.coach_id, row.tally.film_id) not in films
    ]
    return [*whole.values(), *samples]


def _rate(group: list[TallyWeek]) -> FilmRate:
    made, tried = sum(row.made for row in group), sum(row.tried for row in group)
    only = group[0]
    low, high = wilson_interval(made, tried)
    if only.low is not None and only.high is not None:
        low, high = only.low, only.high
    coach = only.tally.coach
    return FilmRate(
        made=made,
        tried=tried,
        low=low,
        high=high,
        films=len({row.tally.film_id for row in group}),
        coach=coach.full_name if coach else _("a former coach"),
        is_sample=only.low is not None,
        latest_on=max(row.film_on for row in group),
        coach_id=only.tally.coach_id,
        counts=tuple((row.film_on, row.made, row.tried) for row in group),
    )
