"""What the tests of week rows share: the sums that rows ought to hold, made in plain Python."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

from devplans.workouts.content import Content, SetContent, ShotContent
from devplans.workouts.models import DrillWeek, WorkoutWeek

# The clocks of London go back on 25 October 2026, those of New York on 1 November.
BEGIN = datetime(2026, 10, 17, 20, tzinfo=UTC)
ZONES = ["Europe/London", "America/New_York", "Pacific/Auckland"]
DRILLS = ["makes-a", "makes-b", "reps-a"]


def content_of(player, drawn):
    """What a phone would send; a set with shots leaves its counts out or repeats them."""
    sets, shots = [], [ShotContent(uuid4(), 0, 4_000, made) for made in drawn["loose"]]
    for one in drawn["sets"]:
        made, tried = one["pair"] or (None, None)
        if one["shots"]:
            thrown = (sum(one["shots"]), len(one["shots"]))
            made, tried = thrown if one["pair"] else (None, None)
        key = uuid4()
        sets.append(SetContent(key, one["drill"], "none", made, tried, one["reps"], one["seconds"]))
        shots += [ShotContent(uuid4(), 0, 4_000, hit, key) for hit in one["shots"]]
    started = BEGIN + timedelta(hours=drawn["after"])
    facts = {name: drawn[name] for name in ("minutes", "effort", "kind")}
    return Content(player.pk, started, sets=tuple(sets), shots=tuple(shots), **facts)


def plus(total, name, number):
    if number is not None:
        total[name] = (total.get(name) or 0) + number


def by_hand(kept, zone):
    """({(year, week): sums}, {(year, week, drill): sums}) of what was sent, by its start."""
    totals, drills = {}, {}
    for _key, drawn in sorted(kept.items(), key=lambda one: (one[1]["after"], one[0])):
        local = (BEGIN + timedelta(hours=drawn["after"])).astimezone(ZoneInfo(zone))
        year, week, weekday = local.isocalendar()
        total = totals.setdefault((year, week), {"workouts": 0, "days": [0] * 7})
        total["workouts"] += 1
        plus(total, f"minutes_{drawn['kind']}", drawn["minutes"])
        if None not in (drawn["minutes"], drawn["effort"]):
            plus(total, "load", drawn["minutes"] * drawn["effort"])
            total["days"][weekday - 1] += drawn["minutes"] * drawn["effort"]
        for hit in drawn["loose"]:
            plus(total, "made", int(hit))
            plus(total, "tried", 1)
        add_sets(drawn["sets"], total, drills, (year, week))
    return totals, drills


def add_sets(sets, total, drills, week):
    tried_here = {}
    for one in sets:
        row = drills.setdefault((*week, one["drill"]), {"sets": 0, "sessions": []})
        row["sets"] += 1
        made, tried = one["pair"] or (None, None)
        if one["shots"]:
            made, tried = sum(one["shots"]), len(one["shots"])
        plus(row, "seconds", one["seconds"])
        for into in (total, row):
            plus(into, "reps", one["reps"])
            plus(into, "made", made)
            plus(into, "tried", tried)
        before = tried_here.get(one["drill"], [0, 0])
        tried_here[one["drill"]] = [before[0] + (made or 0), before[1] + (tried or 0)]
    for drill, pair in tried_here.items():
        if pair[1]:
            drills[(*week, drill)]["sessions"].append(pair)


TOTALS = ("minutes_own", "minutes_organised", "load", "reps", "made", "tried")
COUNTS = ("reps", "seconds", "made", "tried")


def held_of(player):
    """The rows as they lie in the database, in the form of `by_hand`."""
    totals = {
        (row.iso_year, row.iso_week): {
            "workouts": row.workouts,
            "days": row.daily_loads,
            **{name: getattr(row, name) for name in TOTALS if getattr(row, name) is not None},
        }
        for row in WorkoutWeek.objects.filter(player=player)
    }
    drills = {
        (row.iso_year, row.iso_week, row.drill.slug): {
            "sets": row.sets,
            "sessions": row.sessions,
            **{name: getattr(row, name) for name in COUNTS if getattr(row, name) is not None},
        }
        for row in DrillWeek.objects.filter(player=player).select_related("drill")
    }
    return totals, drills
