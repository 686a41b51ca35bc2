"""What a count says in numbers, and its week rows."""

from collections import Counter
from uuid import UUID

from django.db.models import Count, Q

from devplans.stats.sampling import RatioEstimate, ratio_estimate
from devplans.tallies.models import Tally, TallyWeek
from devplans.tallies.roster import film_day


def last_ms(tally: Tally) -> int:
    """From where on nothing is left to count: the end of the last possession, else of the film."""
    length = tally.film.duration_ms or 0
    ends = tally.film.possessions.exclude(end_ms=None).order_by("-end_ms")
    last = ends.values_list("end_ms", flat=True).first()
    return min(length, last or length)


def write_weeks(tally: Tally) -> None:
    """The week rows of a closed tally, in place of those it had."""
    day = film_day(tally.film)
    iso = day.isocalendar()
    rows = []
    for (player, skill), (made, tried) in counts_of(tally).items():
        row = TallyWeek(
            tally=tally, player_id=player, skill_id=skill, made=made, tried=tried,
            iso_year=iso.year, iso_week=iso.week, film_on=day,
        )  # fmt: skip
        if tally.is_sample:
            found = estimate(tally, player, skill)
            # A sample of everything is a whole count.
            if not found.is_complete:
                row.low, row.high = found.low, found.high
        rows.append(row)
    tally.weeks.all().delete()
    TallyWeek.objects.bulk_create(rows)


def counts_of(tally: Tally) -> dict[tuple[UUID, UUID], tuple[int, int]]:
    """(made, tried) for each (player, skill) that has a chance."""
    rows = tally.marks.standing().order_by().values_list("player", "skill")
    found = rows.annotate(tried=Count("pk"), made=Count("pk", filter=Q(did_it=True)))
    return {(player, skill): (made, tried) for player, skill, tried, made in found}


def estimate(tally: Tally, player: UUID, skill: UUID) -> RatioEstimate:
    """The rate of one player on one skill from the possessions that were drawn."""
    marks = tally.marks.standing().filter(player=player, skill=skill)
    chances: Counter[int] = Counter()
    made: Counter[int] = Counter()
    for place, did_it in marks.values_list("possession__place", "did_it"):
        chances[place] += 1
        made[place] += did_it
    counts = [(made[place], chances[place]) for place in range(tally.drawn)]
    return ratio_estimate(counts, possessions=tally.possessions.count())
