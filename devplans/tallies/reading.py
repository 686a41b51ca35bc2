"""What the pages of tallies show: reads only."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from devplans.catalogue.models import Skill
from devplans.film.models import Film
from devplans.stats import agreement
from devplans.stats.proportions import wilson_interval
from devplans.stats.sampling import RatioEstimate
from devplans.tallies.evidence import counts_of, estimate, last_ms
from devplans.tallies.matching import Pair, Seen, match, table
from devplans.tallies.models import Tally, TallyMark
from devplans.tallies.roster import Entry, counted
from devplans.tallies.services import MORE

# Below this kappa two coaches differ too much for a change to be told from it (lower limit).
LEAST_KAPPA = 0.4
# Fewer shared chances than these tell little of how far two agree.
ENOUGH_SHARED = 50
# A key pressed this long after a possession still means it.
LATE_MS = 6_000


@dataclass(frozen=True)
class Row:
    """One player on one skill. estimate: of a sample that does not hold every possession."""

    entry: Entry
    made: int
    tried: int
    low: float
    high: float
    estimate: RatioEstimate | None

    @property
    def after_more(self) -> tuple[float, float] | None:
        """The interval to expect after twenty more possessions."""
        return self.estimate.more(MORE) if self.estimate else None

    @property
    def is_wide(self) -> bool:
        """The interval says next to nothing."""
        return self.high - self.low > 0.6


@dataclass(frozen=True)
class SkillRows:
    skill: Skill
    rows: list[Row]
    without: list[Entry]


def results(tally: Tally) -> list[SkillRows]:
    """Each skill with its players who had a chance, and those who had none."""
    counts = counts_of(tally)
    entries = counted(tally.film, list(tally.players.all()))
    found = []
    for skill in tally.skills.all():
        rows = []
        for entry in entries:
            made, tried = counts.get((entry.player.pk, skill.pk), (0, 0))
            if tried:
                rows.append(_row(tally, entry, skill, made, tried))
        there = {row.entry.player.pk for row in rows}
        without = [entry for entry in entries if entry.player.pk not in there]
        found.append(SkillRows(skill, rows, without))
    return found


def _row(tally: Tally, entry: Entry, skill: Skill, made: int, tried: int) -> Row:
    if tally.is_sample:
        guess = estimate(tally, entry.player.pk, skill.pk)
        if not guess.is_complete:
            return Row(entry, made, tried, guess.low, guess.high, guess)
    low, high = wilson_interval(made, tried)
    return Row(entry, made, tried, low, high, None)


def sheet(tally: Tally) -> dict[str, Any]:
    """What the page that counts needs: whom, what, which possessions, what is marked already."""
    drawn = tally.possessions.filter(place__lt=tally.drawn).order_by("start_ms")
    return {
        "skills": [{"id": str(one.pk), "name": one.name} for one in tally.skills.all()],
        "players": [
            {
                "id": str(entry.player.pk),
                "number": entry.number,
                "name": entry.player.first_name,
                "full": entry.player.full_name,
            }
            for entry in counted(tally.film, list(tally.players.all()))
        ],
        "possessions": [
            {
                "place": one.place,
                "start_ms": one.start_ms,
                "end_ms": one.end_ms,
                "side": one.side,
                "seen": one.seen_at is not None,
            }
            for one in drawn
        ],
        "marks": [mark_facts(mark) for mark in marks_of(tally)],
        "is_sample": tally.is_sample,
        "reached_ms": tally.reached_ms,
        "last_ms": last_ms(tally),
    }


def marks_of(tally: Tally) -> list[TallyMark]:
    return list(TallyMark.objects.of_tally(tally).select_related("possession", "player", "skill"))


def mark_facts(mark: TallyMark) -> dict[str, Any]:
    return {
        "id": str(mark.pk),
        "ms": mark.film_ms,
        "player": str(mark.player_id),
        "skill": str(mark.skill_id),
        "did_it": mark.did_it,
        "place": mark.possession.place if mark.possession else None,
        "at": mark.created_at.isoformat(),
    }


# --- two coaches ------------------------------------------------------------


@dataclass(frozen=True)
class Difference:
    """A moment at which two coaches differ; None: that coach saw no chance there."""

    ms: int
    entry: Entry
    skill: Skill
    first: bool | None
    second: bool | None


@dataclass(frozen=True)
class Agreement:
    """How far two closed tallies of one film agree on what both could have seen."""

    first: Tally
    second: Tally
    skills: list[Skill]
    players: int
    shared: int
    same: int
    only_first: int
    only_second: int
    raw: float | None
    raw_low: float
    raw_high: float
    kappa: float | None
    interval: tuple[float, float] | None
    differences: list[Difference]

    @property
    def differ(self) -> bool:
        """Too far apart for a change to be told from their counts."""
        return self.interval is not None and self.interval[0] < LEAST_KAPPA

    @property
    def is_thin(self) -> bool:
        return self.shared < ENOUGH_SHARED


def compare(first: Tally, second: Tally) -> Agreement:
    """Two tallies of one film, on the skills, players and possessions that both counted."""
    skills = [one for one in first.skills.all() if one in set(second.skills.all())]
    both = [one for one in first.players.all() if one in set(second.players.all())]
    place = _Stretches(first.film, [first, second])
    sides = [place.seen(tally, skills, both) for tally in (first, second)]
    pairs = match(*sides)
    counts = table(pairs)
    shared = sum(pair.is_shared for pair in pairs)
    same = sum(pair.agrees for pair in pairs)
    raw_low, raw_high = wilson_interval(same, shared)
    return Agreement(
        first, second, skills, len(both), shared, same,
        sum(pair.second is None for pair in pairs),
        sum(pair.first is None for pair in pairs),
        agreement.raw_agreement(counts), raw_low, raw_high,
        agreement.cohen_kappa(counts), agreement.kappa_interval(counts),
        _differences(first.film, pairs, skills, both),
    )  # fmt: skip


class _Stretches:
    """Which possession a moment belongs to, and whether both tallies looked at it."""

    def __init__(self, film: Film, tallies: Sequence[Tally]) -> None:
        rows = film.possessions.exclude(end_ms=None).order_by("start_ms")
        spans = set(rows.values_list("start_ms", "end_ms"))
        self.sampled = []
        for tally in tallies:
            if tally.is_sample:
                drawn = tally.possessions.filter(place__lt=tally.drawn)
                mine = set(drawn.values_list("start_ms", "end_ms"))
                self.sampled.append({start for start, _end in mine})
                spans |= mine
        self.spans = sorted(spans)
        self.starts = [start for start, _end in self.spans]

    def possession(self, ms: int) -> int | None:
        """The start of the possession that holds the moment, or that ended just before it."""
        at = bisect_right(self.starts, ms) - 1
        if at < 0 or ms > self.spans[at][1] + LATE_MS:
            return None
        return self.starts[at]

    def seen(self, tally: Tally, skills: Sequence[Skill], players: Sequence[Any]) -> list[Seen]:
        rows = TallyMark.objects.of_tally(tally).filter(skill__in=skills, player__in=players)
        found = []
        for mark in rows.select_related("possession"):
            start = mark.possession.start_ms if mark.possession else self.possession(mark.film_ms)
            if all(start in starts for starts in self.sampled):
                found.append(Seen(mark.film_ms, mark.player_id, mark.skill_id, mark.did_it, start))
        return found


def _differences(
    film: Film, pairs: Sequence[Pair], skills: Sequence[Skill], players: Sequence[Any]
) -> list[Difference]:
    entries = {entry.player.pk: entry for entry in counted(film, list(players))}
    named = {skill.pk: skill for skill in skills}
    return [
        Difference(
            pair.one.ms,
            entries[_key(pair.one.player)],
            named[_key(pair.one.skill)],
            pair.first.did_it if pair.first else None,
            pair.second.did_it if pair.second else None,
        )
        for pair in pairs
        if not pair.agrees
    ]


def _key(value: Any) -> UUID:
    return UUID(str(value))
