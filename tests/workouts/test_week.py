"""The sums of a week, held against a count by hand of what was sent."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from devplans.stats import weeks
from devplans.workouts import sums
from devplans.workouts.models import Workout
from devplans.workouts.weeks import counting
from tests import factories as make
from tests.workouts.phone import body, one_set, one_shot

WEEK = "2026-W47"


def week_url(player, week=WEEK):
    return f"/api/v1/players/{player.pk}/weeks/{week}/"


NOTHING = {
    "workouts": 0, "minutes_own": 0, "minutes_organised": 0, "load": None, "reps": 0,
    "made": 0, "tried": 0, "share": None, "low": None, "high": None,
}  # fmt: skip


def test_an_empty_week(phone):
    answer = phone.client.get(week_url(phone.cast.kid))
    assert answer.status_code == 200
    assert answer.json() == NOTHING


def test_shots_and_counted_sets_never_count_twice(phone):
    """A set that repeats its shots, one that leaves them out, one without, and shots of no set."""
    told, silent = one_set(made=1, tried=2), one_set(made=None, tried=None)
    plain = one_set(made=7, tried=10, reps=3)
    shots = [
        one_shot(set=told["id"]), one_shot(set=told["id"], made=False), one_shot(set=silent["id"]),
        one_shot(set=silent["id"], made=False), one_shot(set=silent["id"]), one_shot(made=False),
    ]  # fmt: skip
    phone.put(sets=[told, silent, plain], shots=shots)
    found = phone.client.get(week_url(phone.cast.kid)).json()
    assert (found["made"], found["tried"], found["reps"]) == (1 + 2 + 7 + 0, 2 + 3 + 10 + 1, 3)


def test_published_interval_and_load(phone):
    """7 of 10: 39.7 to 89.2 %; 45 minutes at 6."""
    phone.put(sets=[one_set()])
    found = phone.client.get(week_url(phone.cast.kid)).json()
    assert found["share"] == 0.7
    assert found["low"] == pytest.approx(0.3968, abs=1e-4)
    assert found["high"] == pytest.approx(0.8922, abs=1e-4)
    assert (found["load"], found["minutes_own"], found["minutes_organised"]) == (270, 45, 0)


def test_an_unfinished_workout_counts_its_sets_but_no_load(phone):
    phone.put(sets=[one_set(reps=5)], minutes=None, effort=None)
    phone.put(at=uuid4(), minutes=30, effort=None, kind="organised")
    found = phone.client.get(week_url(phone.cast.kid)).json()
    assert (found["workouts"], found["load"], found["reps"]) == (2, None, 5)
    assert (found["minutes_own"], found["minutes_organised"]) == (0, 30)


def test_a_deleted_workout_counts_nowhere(phone):
    phone.put(sets=[one_set()])
    phone.delete()
    assert phone.client.get(week_url(phone.cast.kid)).json() == NOTHING


@pytest.mark.parametrize(
    ("zone", "instant", "week"),
    [
        ("Europe/London", "2026-11-15T23:59:59Z", "2026-W46"),
        ("Europe/London", "2026-11-16T00:00:00Z", "2026-W47"),
        ("America/New_York", "2026-11-16T04:59:59Z", "2026-W46"),
        ("America/New_York", "2026-11-16T05:00:00Z", "2026-W47"),
        ("Pacific/Auckland", "2026-11-15T11:00:00Z", "2026-W47"),
        ("Europe/London", "2020-12-31T12:00:00Z", "2020-W53"),
        ("Europe/London", "2021-01-03T12:00:00Z", "2020-W53"),
    ],
)
def test_the_week_is_the_clubs(phone, zone, instant, week):
    phone.cast.club.zone = zone
    phone.cast.club.save(update_fields=["zone"])
    assert phone.put(started_at=instant).status_code == 201
    year, number = weeks.parse_label(week)
    for label in (week, weeks.format_label(weeks.next_week((year, number)))):
        found = phone.client.get(week_url(phone.cast.kid, label)).json()
        assert found["workouts"] == (1 if label == week else 0)


@pytest.mark.parametrize(
    "label",
    ["2026-W54", "2026-W00", "2026-47", "2026W47", "x", "0000-W01", "99999-W01", "2025-W53"],
)
def test_a_week_that_does_not_exist_is_404(phone, label):
    assert phone.client.get(week_url(phone.cast.kid, label)).status_code == 404


@pytest.mark.parametrize("label", ["0001-W01", "9999-W52", "2026-W53"])
def test_far_weeks_are_empty_or_unknown(phone, label):
    assert phone.client.get(week_url(phone.cast.kid, label)).status_code in {200, 404}


# --- random workouts, summed by hand ---

numbers = st.integers(0, 40)
counts = st.one_of(st.none(), st.tuples(numbers, numbers).map(lambda pair: (min(pair), max(pair))))
sets = st.lists(
    st.tuples(counts, st.none() | numbers, st.lists(st.booleans(), max_size=4)), max_size=4
)
workouts = st.lists(
    st.fixed_dictionaries(
        {
            "sets": sets,
            "free": st.lists(st.booleans(), max_size=4),
            "minutes": st.none() | st.integers(0, 200),
            "effort": st.none() | st.integers(0, 10),
            "kind": st.sampled_from(["own", "organised"]),
            "hour": st.integers(0, 167),
        }
    ),
    max_size=4,
)


def sent(player, drawn):
    """The body of a drawn workout; a set with shots leaves its counts out or repeats them."""
    parts, shots = [], [one_shot(made=made) for made in drawn["free"]]
    for pair, reps, thrown in drawn["sets"]:
        made, tried = pair or (None, None)
        if thrown:
            made, tried = (sum(thrown), len(thrown)) if pair else (None, None)
        parts.append(one_set(made=made, tried=tried, reps=reps))
        shots += [one_shot(set=parts[-1]["id"], made=made) for made in thrown]
    started = datetime(2026, 11, 16, tzinfo=UTC) + timedelta(hours=drawn["hour"])
    facts = {name: drawn[name] for name in ("minutes", "effort", "kind")}
    return body(player, started_at=started.isoformat(), sets=parts, shots=shots, **facts)


def by_hand(drawn):
    """Sums over the raw draws: a set's shots if it has any, else its counts; and free shots."""
    total = {**NOTHING, "workouts": len(drawn)}
    for one in drawn:
        for pair, reps, thrown in one["sets"]:
            made, tried = (sum(thrown), len(thrown)) if thrown else (pair or (0, 0))
            total["made"] += made
            total["tried"] += tried
            total["reps"] += reps or 0
        total["made"] += sum(one["free"])
        total["tried"] += len(one["free"])
        total[f"minutes_{one['kind']}"] += one["minutes"] or 0
        if one["minutes"] is not None and one["effort"] is not None:
            total["load"] = (total["load"] or 0) + one["minutes"] * one["effort"]
    return total


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(drawn=workouts)
def test_random_weeks_add_up(phone, drawn):
    make.forget_workouts()
    for one in drawn:
        assert phone.put(sent(phone.cast.kid, one), at=uuid4()).status_code == 201
    found = phone.client.get(week_url(phone.cast.kid)).json()
    expected = by_hand(drawn)
    plain = [name for name in expected if name not in {"share", "low", "high"}]
    assert {name: found[name] for name in plain} == {name: expected[name] for name in plain}
    if expected["tried"]:
        assert found["share"] == pytest.approx(expected["made"] / expected["tried"])
        assert found["low"] <= found["share"] <= found["high"]
    kept = Workout.objects.with_content()
    direct = sums.week_sums([phone.cast.kid], 2026, 47)[phone.cast.kid.pk]
    assert sums.add_up(kept) == direct
    assert [counting.at_hand(one) for one in kept.order_by("started_at", "pk")] == (
        counting.logged(Workout.objects.kept())
    )
    drills = sums.drill_sums([phone.cast.kid], *weeks.bounds(2026, 47, "UTC"))
    rows = drills.get(phone.cast.kid.pk, [])
    free = sum(len(one["free"]) for one in drawn)
    assert sum(row.tried or 0 for row in rows) == expected["tried"] - free
    assert sum(row.reps or 0 for row in rows) == expected["reps"]


# --- many players at once ---


def test_many_players_cost_no_more_questions(cast, django_assert_num_queries):
    start = datetime(2026, 11, 18, tzinfo=UTC)
    drills = [make.make_drill() for _ in range(2)]
    players = [make.make_player(squad=cast.squad) for _ in range(50)]
    for player in players:
        rows = [{"drill": drill, "made": 3, "tried": 5} for drill in drills]
        make.make_workout(player, started_at=start, sets=rows)
    span = weeks.bounds(2026, 47, "Europe/London")
    for some in (players[:2], players):
        with django_assert_num_queries(1):
            found = sums.week_sums(some, 2026, 47)
        assert {one.tried for one in found.values()} == {10}
        assert len(found) == len(some)
        with django_assert_num_queries(2):
            found = sums.drill_sums(some, *span)
        assert {len(rows) for rows in found.values()} == {2}


def test_players_of_two_zones_have_their_own_weeks(cast):
    cast.far_club.zone = "Pacific/Auckland"
    cast.far_club.save(update_fields=["zone"])
    at = datetime(2026, 11, 15, 12, tzinfo=UTC)
    for player in (cast.kid, cast.far_kid):
        make.make_workout(player, started_at=at)
    found = sums.week_sums([cast.kid, cast.far_kid], 2026, 47)
    assert (found[cast.kid.pk].workouts, found[cast.far_kid.pk].workouts) == (0, 1)


def test_two_drills_of_one_slug_stay_apart(cast):
    """A club's own drill may shadow a shipped one in mid-season."""
    shipped, own = make.make_drill(slug="same"), make.make_drill(slug="same", club=cast.club)
    at = datetime(2026, 11, 18, tzinfo=UTC)
    for drill, made in ((shipped, 1), (own, 2)):
        make.make_workout(
            cast.kid, started_at=at, sets=[{"drill": drill, "made": made, "tried": 5}]
        )
    rows = sums.drill_sums([cast.kid], *weeks.bounds(2026, 47, "UTC"))[cast.kid.pk]
    assert {row.drill_id: row.made for row in rows} == {shipped.pk: 1, own.pk: 2}


def test_anothers_week_is_404(phone):
    other = Client()
    other.force_login(phone.cast.teammate)
    assert other.get(week_url(phone.cast.kid)).status_code == 404
