"""The zones that a goal can be about, by a club's rule set."""

from django.utils.functional import Promise

from devplans.stats.court_places import zone_places
from devplans.workouts.shooting.counts import FREE_THROW
from devplans.workouts.shooting.words import ZONES


def zones_of(rules: str) -> dict[str, Promise]:
    """Free throws, then the zones of the half court from under the ring outward, with their names.

    rules: fiba, nba, ncaa or nfhs; ValueError for any other.
    """
    names = [FREE_THROW, *(place.name for place in zone_places(rules))]
    return {name: ZONES[name] for name in names}
