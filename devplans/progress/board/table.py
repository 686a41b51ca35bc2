"""The squad board: skills by players, from closed tallies. No order but the roster's."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.people.models import Player, Squad
from devplans.progress.board.counts import (
    Line,
    SquadCounts,
    counts_of,
    last_on_film,
    live_goals,
    roster_of,
    skills_of,
)
from devplans.stats.proportions import Shrunk, shrink, wilson_interval
from devplans.tallies.models import TallyWeek
from devplans.tallies.rates import FilmRate, film_rate

# So many players stand side by side on a sheet of paper; more begin another table.
SIDE_BY_SIDE = 12


def percent(low: float, high: float) -> str:
    """ "34–81 %"; the sign stays with its number."""
    return f"{round(100 * low)}–{round(100 * high)}\N{NO-BREAK SPACE}%"


@dataclass(frozen=True)
class Cell:
    """One player on one skill. place: of the player in the roster. rate: None where he never had a
    chance that was counted. about: his share drawn toward the squad's, 0..1. was_counted: somebody
    looked for chances of his. is_first: by the coach whose count stands first in the row."""

    place: int
    rate: FilmRate | None
    about: float | None
    was_counted: bool
    is_first: bool = False
    others: tuple[FilmRate, ...] = ()

    @property
    def day(self) -> str:
        return date_format(self.rate.latest_on, "j M") if self.rate else ""

    @property
    def by(self) -> str:
        """Whose count it is where it is not the one that stands first in the row."""
        if self.rate is None or self.is_first:
            return ""
        return _("by %(coach)s") % {"coach": self.rate.coach}

    @property
    def beside(self) -> list[str]:
        """What is not added to it."""
        return [
            _("%(made)s of %(tried)s by %(coach)s, not added")
            % {"made": one.made, "tried": one.tried, "coach": one.coach}
            for one in self.others
        ]

    @property
    def interval(self) -> str:
        return percent(self.rate.low, self.rate.high) if self.rate else ""

    @property
    def about_percent(self) -> str:
        return "" if self.about is None else f"{round(100 * self.about)}\N{NO-BREAK SPACE}%"


@dataclass(frozen=True)
class SkillRow:
    """A skill with the cells of all players of a table, in the roster's order. coach: whose count
    stands first; made, tried: of the whole squad by that coach."""

    skill: Skill
    coach: str
    made: int
    tried: int
    cells: list[Cell]

    @property
    def interval(self) -> str:
        return percent(*wilson_interval(self.made, self.tried)) if self.tried else ""


@dataclass(frozen=True)
class Column:
    line: Line
    place: int
    last_seen: date | None


@dataclass(frozen=True)
class Block:
    """Players side by side, with the skills by family."""

    columns: list[Column]
    families: list[tuple[str, list[SkillRow]]]


@dataclass(frozen=True)
class Board:
    columns: list[Column]
    rows: list[SkillRow]
    uncounted: list[Skill]

    @property
    def blocks(self) -> list[Block]:
        starts = range(0, len(self.columns), SIDE_BY_SIDE)
        return [self._block(slice(at, at + SIDE_BY_SIDE)) for at in starts]

    def _block(self, part: slice) -> Block:
        families: dict[str, list[SkillRow]] = {}
        for row in self.rows:
            mine = SkillRow(row.skill, row.coach, row.made, row.tried, row.cells[part])
            families.setdefault(row.skill.family, []).append(mine)
        return Block(self.columns[part], list(families.items()))


def board_of(squad: Squad, since: date) -> Board:
    """The board of the players of today, from films since a day, in a fixed number of queries.

    Its skills are those that were counted; those of live goals that were not are told apart.
    """
    lines = roster_of(squad)
    players = [line.player for line in lines]
    counts = counts_of(squad, players, since)
    seen = last_on_film(squad, players)
    columns = [Column(line, at, seen.get(line.player.pk)) for at, line in enumerate(lines)]
    counted = counts.skills()
    wanted = {goal.skill_id for goal in live_goals(players)}
    skills = skills_of(counted | wanted)
    rows = [_row(skill, players, counts) for skill in skills if skill.pk in counted]
    return Board(columns, rows, [skill for skill in skills if skill.pk not in counted])


def _row(skill: Skill, players: list[Player], counts: SquadCounts) -> SkillRow:
    coach = counts.first_coach(skill.pk)
    looked_at = _looked_at(skill.pk, counts)
    by_player: dict[UUID, list[TallyWeek]] = {}
    for row in counts.by_skill.get(skill.pk, []):
        by_player.setdefault(row.player_id, []).append(row)
    found = [_rates(by_player.get(player.pk, []), coach) for player in players]
    shrunk, places = _shrunk(found, looked_at.get(coach, set()), players)
    cells = []
    for at, (player, (first, others)) in enumerate(zip(players, found, strict=True)):
        about = None
        if places and at in places:
            about = shrunk.estimates[places[at]]
        was_counted = any(player.pk in them for them in looked_at.values())
        rate, is_first = (first.rate, first.is_whole) if first else (None, False)
        cells.append(Cell(at, rate, about, was_counted, is_first, others))
    firsts = [first.rate for first, _others in found if first and first.is_whole]
    return SkillRow(
        skill,
        _name(coach, counts),
        sum(rate.made for rate in firsts),
        sum(rate.tried for rate in firsts),
        cells,
    )


@dataclass(frozen=True)
class _First:
    """The count of a player that stands first; is_whole: by the coach whose count stands first."""

    rate: FilmRate
    is_whole: bool


def _rates(
    rows: Iterable[TallyWeek], coach: UUID | None
) -> tuple[_First | None, tuple[FilmRate, ...]]:
    """What one player's count says, and what stands beside it without being added."""
    rows = list(rows)
    mine = [row for row in rows if row.low is None and row.tally.coach_id == coach]
    films = {row.tally.film_id for row in mine}
    rest = film_rate(
        row
        for row in rows
        if row.tally.coach_id != coach or (row.low is not None and row.tally.film_id not in films)
    )
    beside = (rest, *rest.others) if rest else ()
    found = film_rate(mine)
    if found:
        return _First(found, True), beside
    return (_First(beside[0], False), beside[1:]) if beside else (None, ())


def _shrunk(
    found: list[tuple[_First | None, tuple[FilmRate, ...]]],
    looked_at: set[UUID],
    players: list[Player],
) -> tuple[Shrunk, dict[int, int]]:
    """Estimates of the players whom one coach counted on whole films, and where each one stands;
    none where fewer than two can be compared."""
    places: dict[int, int] = {}
    counts: list[tuple[int, int]] = []
    for at, (player, (first, _others)) in enumerate(zip(players, found, strict=True)):
        if first is None and player.pk in looked_at:
            places[at] = len(counts)
            counts.append((0, 0))
        elif first is not None and first.is_whole:
            places[at] = len(counts)
            counts.append((first.rate.made, first.rate.tried))
    if len(counts) < 2 or not any(tried for _made, tried in counts):
        places = {}
    return shrink(counts), places


def _looked_at(skill: UUID, counts: SquadCounts) -> dict[UUID | None, set[UUID]]:
    """By coach: the players whose chances were looked for."""
    found: dict[UUID | None, set[UUID]] = {}
    for tally in counts.of_skill(skill):
        found.setdefault(tally.coach_id, set()).update(counts.counted.get(tally.pk, set()))
    return found


def _name(coach: UUID | None, counts: SquadCounts) -> str:
    for tally in counts.tallies.values():
        if tally.coach_id == coach and tally.coach is not None:
            return tally.coach.full_name
    return _("a former coach")
