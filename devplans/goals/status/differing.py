"""Whether two coaches who counted one film agree enough for a change to be told."""

from datetime import date
from itertools import combinations

from devplans.goals.models import Goal
from devplans.tallies.models import Tally
from devplans.tallies.reading import compare


def counts_differ(goal: Goal, until: date) -> bool:
    """Was a film of this player and skill counted by two coaches who do not agree?

    On films up to `until` from the weeks behind the starting point on. Lower limit of kappa below
    .4 (`tallies.reading`); False where no film was counted twice.
    """
    rows = Tally.objects.closed().filter(
        weeks__player=goal.player_id, weeks__skill=goal.skill_id, weeks__film_on__lte=until
    )
    by_film: dict[object, list[Tally]] = {}
    for tally in rows.select_related("film__squad__season__club").distinct():
        by_film.setdefault(tally.film_id, []).append(tally)
    return any(
        compare(first, second).differ
        for tallies in by_film.values()
        for first, second in combinations(tallies, 2)
        if first.coach_id != second.coach_id
    )
