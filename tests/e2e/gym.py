"""Random workouts, and what they add up to, reckoned from the raw sets by no code of the portal."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from uuid import uuid4

from statsmodels.stats.proportion import proportion_confint


@dataclass(frozen=True)
class Sums:
    workouts: int
    minutes_own: int
    minutes_organised: int
    reps: int
    made: int
    tried: int

    def interval(self) -> tuple[float, float]:
        return proportion_confint(self.made, self.tried, alpha=0.05, method="wilson")


def random_workout(chance: Random, player: str, drills: dict[str, list[str]], at: datetime) -> dict:
    """A body for PUT; `drills`: slugs by what they count ("makes", "reps")."""
    sets = []
    for _ in range(chance.randint(1, 6)):
        one = {"id": str(uuid4()), "side": chance.choice(["none", "left", "right"])}
        if chance.random() < 0.7:
            tried = chance.randint(1, 25)
            one |= {"drill": chance.choice(drills["makes"]), "tried": tried}
            one |= {"made": chance.randint(0, tried), "reps": None, "seconds": None}
        else:
            one |= {"drill": chance.choice(drills["reps"]), "reps": chance.randint(1, 60)}
            one |= {"made": None, "tried": None, "seconds": None}
        sets.append(one)
    return {
        "player": player,
        "revision": 1,
        "started_at": at.isoformat(),
        "minutes": chance.randint(5, 90),
        "effort": chance.randint(0, 10),
        "kind": chance.choice(["own", "organised"]),
        "pain": "",
        "note": "",
        "sets": sets,
        "shots": random_shots(chance, sets),
    }


def random_shots(chance: Random, sets: list[dict]) -> list[dict]:
    """Some shots of no set, and for one counted set the very shots that it counts."""
    shots = [_shot(chance, None, chance.random() < 0.5) for _ in range(chance.randint(0, 5))]
    counted = next((one for one in sets if one["tried"]), None)
    if counted:
        for number in range(counted["tried"]):
            shots.append(_shot(chance, counted["id"], number < counted["made"]))
    return shots


def _shot(chance: Random, of_set: str | None, made: bool) -> dict:
    return {
        "id": str(uuid4()),
        "set": of_set,
        "x_mm": chance.randint(-7000, 7000),
        "y_mm": chance.randint(-1000, 12000),
        "made": made,
    }


def moments(chance: Random, begin: datetime, end: datetime, number: int) -> list[datetime]:
    length = (end - begin).total_seconds()
    return [begin + timedelta(seconds=chance.uniform(1, length - 1)) for _ in range(number)]


def sums(bodies: list[dict]) -> Sums:
    """Counted sets as they say, and the shots that belong to none: nothing twice."""
    made = tried = reps = 0
    for body in bodies:
        for one in body["sets"]:
            made += one["made"] or 0
            tried += one["tried"] or 0
            reps += one["reps"] or 0
        loose = [shot for shot in body["shots"] if shot["set"] is None]
        tried += len(loose)
        made += sum(shot["made"] for shot in loose)
    minutes = {
        kind: sum(body["minutes"] for body in bodies if body["kind"] == kind)
        for kind in ("own", "organised")
    }
    return Sums(len(bodies), minutes["own"], minutes["organised"], reps, made, tried)


def by_drill(bodies: list[dict]) -> dict[str, tuple[int, int, int]]:
    """Made, tried and reps of each drill's sets."""
    found: dict[str, tuple[int, int, int]] = {}
    for body in bodies:
        for one in body["sets"]:
            made, tried, reps = found.get(one["drill"], (0, 0, 0))
            found[one["drill"]] = (
                made + (one["made"] or 0),
                tried + (one["tried"] or 0),
                reps + (one["reps"] or 0),
            )
    return found
