from collections import defaultdict
from zoneinfo import ZoneInfo

from django.db import migrations
from django.db.models import Case, Count, Q, Sum, When

CHUNK = 50
COUNTED = ("reps", "seconds", "made", "tried")


def fill(apps, schema_editor):
    """The weeks of the workouts that are there, some players at a time."""
    players = apps.get_model("people", "Player").objects.order_by("club", "pk")
    with_workouts = players.filter(workouts__deleted_at=None, workouts__isnull=False).distinct()
    found = list(with_workouts.values_list("pk", "club__zone"))
    for first in range(0, len(found), CHUNK):
        fill_some(apps, dict(found[first : first + CHUNK]))


def fill_some(apps, zones):
    workouts = apps.get_model("workouts", "Workout").objects
    kept = workouts.filter(deleted_at=None, player__in=list(zones))
    drills = counts_of(apps, kept.values("pk"))
    totals, sets = {}, {}
    for one in kept.order_by("started_at", "pk"):
        day = one.started_at.astimezone(ZoneInfo(zones[one.player_id])).isocalendar()
        week = (one.player_id, day.year, day.week)
        add_workout(totals.setdefault(week, empty_week()), one, day.weekday, drills[one.pk])
        for drill, counts in drills[one.pk].items():
            if drill is not None:
                add_drill(sets.setdefault((*week, drill), {"sets": 0, "sessions": []}), counts)
    names = ("player_id", "iso_year", "iso_week", "drill_id")
    for model, rows in (("WorkoutWeek", totals), ("DrillWeek", sets)):
        made = apps.get_model("workouts", model)
        made.objects.bulk_create(
            made(**dict(zip(names, key, strict=False)), **row) for key, row in rows.items()
        )


def counts_of(apps, kept):
    """For each workout its counts by drill; None: the shots that belong to no set."""
    found = defaultdict(lambda: defaultdict(lambda: {"sets": 0}))
    sets = apps.get_model("workouts", "WorkoutSet").objects.filter(workout__in=kept).order_by()
    for workout, drill, number, *sums in sets.values_list("workout_id", "drill_id").annotate(
        Count("pk"), *(Sum(name) for name in COUNTED)
    ):
        counts = found[workout][drill]
        counts["sets"] = number
        add(counts, **dict(zip(COUNTED, sums, strict=True)))
    shots = apps.get_model("workouts", "Shot").objects.filter(workout__in=kept).order_by()
    shots = shots.filter(Q(set=None) | Q(set__tried=None))
    for workout, drill, tried, made in shots.values_list("workout_id", "set__drill_id").annotate(
        number=Count("pk"), hits=Sum(Case(When(made=True, then=1), default=0))
    ):
        add(found[workout][drill], made=made, tried=tried)
    return found


def empty_week():
    return {"workouts": 0, "daily_loads": [0] * 7}


def add_workout(row, one, weekday, drills):
    row["workouts"] += 1
    load = None if None in (one.minutes, one.effort) else one.minutes * one.effort
    row["daily_loads"][weekday - 1] += load or 0
    add(row, load=load, **{f"minutes_{one.kind}": one.minutes})
    for counts in drills.values():
        add(row, **{name: counts.get(name) for name in ("reps", "made", "tried")})


def add_drill(row, counts):
    row["sets"] += counts["sets"]
    add(row, **{name: counts.get(name) for name in COUNTED})
    if counts.get("tried"):
        row["sessions"].append([counts["made"] or 0, counts["tried"]])


def add(row, **more):
    for name, number in more.items():
        if number is not None:
            row[name] = row.get(name, 0) + number


def empty(apps, schema_editor):
    for model in ("WorkoutWeek", "DrillWeek"):
        apps.get_model("workouts", model).objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("workouts", "0005_week_rows")]

    operations = [migrations.RunPython(fill, empty)]
