"""What a count says in numbers, and its week rows."""

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from django.db.models import Count, Q

from devplans.core.mirror import rewrite
from devplans.stats.sampling import RatioEstimate, ratio_estimate
from devplans.tallies.models import Tally, TallyMark, TallyPossession, TallyWeek
from devplans.tallies.roster import film_day

KEY = ("tally", "player", "skill")
Places = dict[int | None, tuple[int, int]]


def last_ms(tally: Tally) -> int:
    """From where on nothing is left to count: the end of the last possession, else of the film."""
    length = tally.film.duration_ms or 0
    ends = tally.film.possessions.exclude(end_ms=None).order_by("-end_ms")
    last = ends.values_list("end_ms", flat=True).first()
    return min(length, last or length)


def write_weeks(*tallies: Tally) -> int:
    """Write the week rows of tallies anew, none for open ones; how many rows differed.

    Four queries and the writing, however many tallies. Call it with the tallies locked, in the
    transaction of what was changed.
    """
    held = TallyWeek.objects.filter(tally__in=tallies)
    return rewrite(held, _rows([one for one in tallies if one.closed_at]), KEY)


def _rows(tallies: list[Tally]) -> list[TallyWeek]:
    by_place = _by_place(tallies)
    samples = TallyPossession.objects.filter(tally__in=[one for one in tallies if one.is_sample])
    sizes = dict(samples.order_by().values_list("tally").annotate(Count("pk")))
    rows = []
    for tally in tallies:
        day = film_day(tally.film)
        iso = day.isocalendar()
        for (player, skill), places in by_place[tally.pk].items():
            row = TallyWeek(
                tally=tally, player_id=player, skill_id=skill, film_on=day,
                made=sum(made for made, _tried in places.values()),
                tried=sum(tried for _made, tried in places.values()),
                iso_year=iso.year, iso_week=iso.week,
            )  # fmt: skip
            if tally.is_sample:
                found = _ratio(tally, places, sizes[tally.pk])
                # A sample of everything is a whole count.
                if not found.is_complete:
                    row.low, row.high = found.low, found.high
            rows.append(row)
    return rows


def _by_place(tallies: Iterable[Tally]) -> dict[UUID, dict[tuple[UUID, UUID], Places]]:
    """For each tally and (player, skill) the (made, tried) by possession; None: a whole film's."""
    marks = TallyMark.objects.standing().filter(tally__in=tallies).order_by()
    rows = marks.values_list("tally", "player", "skill", "possession__place").annotate(
        made=Count("pk", filter=Q(did_it=True)), tried=Count("pk")
    )
    found: dict[UUID, dict[tuple[UUID, UUID], Places]] = defaultdict(lambda: defaultdict(dict))
    for tally, player, skill, place, made, tried in rows:
        found[tally][player, skill][place] = (made, tried)
    return found


def counts_of(tally: Tally) -> dict[tuple[UUID, UUID], tuple[int, int]]:
    """(made, tried) for each (player, skill) that has a chance."""
    rows = tally.marks.standing().order_by().values_list("player", "skill")
    found = rows.annotate(tried=Count("pk"), made=Count("pk", filter=Q(did_it=True)))
    return {(player, skill): (made, tried) for player, skill, tried, made in found}


def estimate(tally: Tally, player: UUID, skill: UUID) -> RatioEstimate:
    """The rate of one player on one skill from the possessions that were drawn."""
    places = _by_place([tally])[tally.pk][player, skill]
    return _ratio(tally, places, tally.possessions.count())


def _ratio(tally: Tally, places: Places, possessions: int) -> RatioEstimate:
    counts = [places.get(place, (0, 0)) for place in range(tally.drawn)]
    return ratio_estimate(counts, possessions=possessions)
