"""Shots with their places in the demo: five spots, free throws and a few close ones."""

import random
from uuid import UUID

from devplans.catalogue.models import Drill
from devplans.stats.court_spots import spots_of
from devplans.workouts.models import Shot, Workout, WorkoutSet
from portal.demo.people import Cast

SHOOTERS = [("Under 16", "12"), ("Under 16", "23")]
EACH = 5
RATES = {
    "corner-left": 0.44, "wing-left": 0.31, "top": 0.36, "wing-right": 0.28, "corner-right": 0.4,
    "free-throw": 0.68,
}  # fmt: skip
CLOSE = [(-900, 700), (700, 1_100), (-1_600, 1_900), (1_900, 2_600)]


def write(cast: Cast) -> None:
    """Into the workouts that the shooters did on their own. Call it once, after those."""
    chance = random.Random(2027)  # noqa: S311 - an invented shooter, no secret
    drills = {
        slug: Drill.objects.get(slug=slug, club=None)
        for slug in ("five-spot-shooting", "free-throw-sets")
    }
    for squad, number in SHOOTERS:
        own = cast.players[squad][number].workouts.filter(kind=Workout.Kind.OWN)
        for workout in own.order_by("started_at"):
            for slug, drill in drills.items():
                _spots(workout, slug, drill, chance)
            _loose(workout, chance)


def _spots(workout: Workout, slug: str, drill: Drill, chance: random.Random) -> None:
    one = WorkoutSet.objects.create(
        id=_uuid(chance), workout=workout, position=workout.sets.count(), drill=drill
    )
    spots = spots_of(slug, rules=workout.player.club.rule_set)
    each = EACH if len(spots) > 1 else 2 * EACH
    places = [(spot.x_mm, spot.y_mm, RATES[spot.name]) for spot in spots for _shot in range(each)]
    _keep(workout, one, places, chance)


def _loose(workout: Workout, chance: random.Random) -> None:
    places = [
        (x + round(chance.gauss(0, 200)), y + round(chance.gauss(0, 200)), 0.6) for x, y in CLOSE
    ]
    _keep(workout, None, places, chance)


def _keep(
    workout: Workout,
    one: WorkoutSet | None,
    places: list[tuple[int, int, float]],
    chance: random.Random,
) -> None:
    first = workout.shots.count()
    Shot.objects.bulk_create(
        Shot(
            id=_uuid(chance),
            workout=workout,
            set=one,
            position=first + number,
            x_mm=x,
            y_mm=y,
            made=chance.random() < rate,
        )
        for number, (x, y, rate) in enumerate(places)
    )


def _uuid(chance: random.Random) -> UUID:
    return UUID(int=chance.getrandbits(128), version=4)
