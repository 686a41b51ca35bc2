from datetime import date, timedelta

from devplans.goals.aims import Aim
from devplans.workouts.weeks.writing import write_weeks
from tests import factories as make


def an_aim(skill, *, today=date(2026, 12, 9), **fields):
    fields = {"measure": "drill_share", "target_share": 0.7, **fields}
    return Aim(skill=skill, **{"due_on": today + timedelta(days=84), **fields})


def log(player, drill, started_at, **counts):
    workout = make.make_workout(player, started_at=started_at, sets=[{"drill": drill, **counts}])
    write_weeks(player, started_at)
    return workout
