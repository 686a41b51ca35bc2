"""Reading the week rows: whole weeks from rows, the rest of a span from workouts, never both; and
the rebuilding that puts right what differs."""

import importlib
import logging
import time
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from itertools import pairwise
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from devplans.people.services import change_club
from devplans.schedule.models import Event
from devplans.stats import weeks
from devplans.tallies import rebuilding as tally_rebuilding
from devplans.tallies import services as tallying
from devplans.tallies.models import TallyWeek
from devplans.workouts import sums
from devplans.workouts.models import DrillWeek, Workout, WorkoutSet, WorkoutWeek
from devplans.workouts.tasks import rebuild_weeks
from devplans.workouts.weeks import rebuilding
from devplans.workouts.weeks.spans import parts_of
from tests import factories as make

FIRST = datetime(2026, 10, 12, tzinfo=UTC)
ZONE = "Europe/London"


def contents():
    """All week rows without the times of their writing."""
    left_out = {"id", "created_at", "updated_at"}
    return [
        sorted(
            [value for name, value in sorted(row.items()) if name not in left_out]
            for row in ([{k: str(v) for k, v in one.items()} for one in model.objects.values()])
        )
        for model in (WorkoutWeek, DrillWeek)
    ]


@pytest.fixture
def logged(cast):
    """Five weeks of two players with two drills, a workout a day or so, over the clock change."""
    drills = [make.make_drill(name="Alpha"), make.make_drill(name="Beta")]
    rows = []
    for player in (cast.kid, cast.mate):
        for number in range(24):
            at = FIRST + timedelta(hours=7 + 35 * number)
            sets = [
                {
                    "drill": drills[number % 2],
                    "made": number % 5,
                    "tried": 6,
                    "reps": number or None,
                }
            ]
            rows.append((player.pk, at, number, drills[number % 2]))
            make.make_workout(player, started_at=at, minutes=10 + number, effort=3, sets=sets)
    return rows


moments = st.integers(-30, 36 * 24).map(lambda hour: FIRST + timedelta(hours=hour))
mondays = st.integers(0, 5).map(lambda n: weeks.bounds(2026, 42 + n, ZONE)[0])


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(start=moments | mondays, end=moments | mondays)
def test_any_span_is_the_sum_of_its_workouts(cast, logged, start, end):
    found = sums.span_sums([cast.kid], start, end)[cast.kid.pk]
    inside = [row for row in logged if row[0] == cast.kid.pk and start <= row[1] < end]
    assert found.workouts == len(inside)
    assert (found.minutes_own or 0) == sum(10 + number for _p, _at, number, _d in inside)
    assert (found.load or 0) == sum(3 * (10 + number) for _p, _at, number, _d in inside)
    drills = sums.drill_sums([cast.kid], start, end).get(cast.kid.pk, [])
    assert [row.name for row in drills] == sorted({row[3].name for row in inside})
    sessions = sums.drill_sessions([cast.kid], start, end)
    for row in drills:
        mine = [number for _p, _at, number, drill in inside if drill.pk == row.drill_id]
        assert (row.sets, row.tried, row.made) == (
            len(mine), 6 * len(mine), sum(number % 5 for number in mine),
        )  # fmt: skip
        assert (row.reps or 0) == sum(mine)
        assert sessions[cast.kid.pk, row.drill_id] == [(number % 5, 6) for number in mine]
    assert {key[1] for key in sessions} == {row.drill_id for row in drills}


@settings(max_examples=60, deadline=None)
@given(start=moments | mondays, end=moments | mondays, zone=st.sampled_from([ZONE, "Asia/Tokyo"]))
def test_the_parts_of_a_span_are_the_span(start, end, zone):
    parts = parts_of(start, end, zone)
    pieces = [parts.head] if parts.head else []
    if parts.whole:
        first, last = parts.whole
        assert first <= last
        pieces.append((weeks.bounds(*first, zone)[0], weeks.bounds(*last, zone)[1]))
    pieces += [parts.tail] if parts.tail else []
    if end <= start:
        assert pieces == []
        return
    assert (pieces[0][0], pieces[-1][1]) == (start, end)
    assert all(left[1] == right[0] for left, right in pairwise(pieces))
    edges = [edge for edge in (parts.head, parts.tail) if edge and parts.whole]
    assert all(edge[1] - edge[0] < timedelta(days=7, hours=1) for edge in edges)


def test_whole_weeks_are_read_from_rows_only(cast, logged):
    start, end = weeks.bounds(2026, 42, ZONE)[0], weeks.bounds(2026, 44, ZONE)[1]
    with CaptureQueriesContext(
        connection,
    ) as asked:
        sums.week_sums([cast.kid], 2026, 43)
        sums.week_series([cast.kid], (2026, 42), 3)
        sums.span_sums([cast.kid], start, end)
        sums.drill_sums([cast.kid], start, end)
        sums.drill_sessions([cast.kid], start, end)
    told = [query["sql"] for query in asked.captured_queries]
    assert len(told) == 1 + 1 + 2 + 2 + 2
    for table in (Workout, WorkoutSet):
        assert not any(f'"{table._meta.db_table}"' in sql for sql in told)


def test_a_series_is_its_weeks_the_oldest_first(cast, logged):
    series = sums.week_series([cast.kid, cast.mate], (2026, 40), 8)
    shown = weeks.weeks_from((2026, 40), 8)
    for player in (cast.kid, cast.mate):
        rows = series[player.pk]
        assert rows == [sums.week_sums([player], *week)[player.pk] for week in shown]
        assert [sum(row.daily_loads) for row in rows] == [row.load or 0 for row in rows]
    assert series[cast.kid.pk][0] == sums.WeekSums()
    assert sums.week_series([cast.kid], (2026, 40), 0) == {cast.kid.pk: []}
    with pytest.raises(ValueError, match="no week"):
        sums.week_series([cast.kid], (2026, 54), 2)


def test_a_series_over_new_year(cast):
    for day in (date(2026, 12, 27), date(2026, 12, 28), date(2027, 1, 3), date(2027, 1, 4)):
        at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
        make.make_workout(cast.kid, started_at=at)
    rows = sums.week_series([cast.kid], (2026, 51), 5)[cast.kid.pk]
    assert [row.workouts for row in rows] == [0, 1, 2, 1, 0]


def test_what_was_not_tried_is_no_session(cast):
    drill = make.make_drill()
    at = FIRST + timedelta(days=1)
    for counts in ({"reps": 5}, {"made": 0, "tried": 0}, {"made": 0, "tried": 3}):
        at += timedelta(hours=1)
        make.make_workout(cast.kid, started_at=at, sets=[{"drill": drill, **counts}])
    start, end = weeks.bounds(2026, 42, ZONE)
    assert sums.drill_sessions([cast.kid], start, end) == {(cast.kid.pk, drill.pk): [(0, 3)]}
    row = sums.drill_sums([cast.kid], start, end)[cast.kid.pk][0]
    assert (row.reps, row.made, row.tried, row.seconds) == (5, 0, 3, None)


def many(cast, players, per_player):
    """Workouts put straight into the tables, `per_player` over eight weeks, two sets each."""
    drills = [make.make_drill() for _ in range(3)]
    made = [make.make_player(squad=cast.squad) for _ in range(players)]
    step = timedelta(weeks=8) / per_player
    rows = [
        Workout(player=player, started_at=FIRST + step * n, minutes=30, effort=4)
        for player in made
        for n in range(per_player)
    ]
    Workout.objects.bulk_create(rows)
    WorkoutSet.objects.bulk_create(
        WorkoutSet(
            workout=row, position=place, drill=drills[(place + row.minutes) % 3], made=4, tried=9
        )
        for row in rows
        for place in range(2)
    )
    return made


def test_two_hundred_players_cost_as_many_questions_as_two(cast):
    """Also how long it takes to make the rows of 2,000 workouts, and to find that none differs."""
    players = many(cast, 200, 10)
    begun = time.process_time()
    first = rebuilding.rebuild_club(cast.club.pk)
    filled = time.process_time()
    again = rebuilding.rebuild_club(cast.club.pk)
    compared = time.process_time()
    print(f"2,000 workouts, processor: {filled - begun:.2f} s to fill, {compared - filled:.2f} s")
    assert first.differed == WorkoutWeek.objects.count() + DrillWeek.objects.count()
    assert again == rebuilding.Rebuilt(first.players, 0)
    start, end = weeks.bounds(2026, 42, ZONE)[0], weeks.bounds(2026, 49, ZONE)[1]
    counts = []
    for some in (players[:2], players):
        with CaptureQueriesContext(connection) as asked:
            series = sums.week_series(some, (2026, 42), 8)
            drills = sums.drill_sums(some, start, end + timedelta(hours=5))
            sums.drill_sessions(some, start - timedelta(hours=5), end)
            sums.span_sums(some, start, end)
        counts.append(len(asked))
        assert {sum(row.workouts for row in rows) for rows in series.values()} == {10}
        assert {sum(row.tried for row in rows) for rows in drills.values()} == {10 * 2 * 9}
    assert counts[0] == counts[1]


def test_a_chunk_is_rebuilt_in_as_many_queries_whatever_it_holds(cast, monkeypatch):
    many(cast, 3, 4)
    counts = []
    for players in (0, 30):
        many(cast, players, 6)
        WorkoutWeek.objects.all().delete()
        DrillWeek.objects.all().delete()
        with CaptureQueriesContext(connection) as asked:
            rebuilding.rebuild_club(cast.club.pk)
        # What is long is written in several goes.
        counts.append(len([one for one in asked if "INSERT" not in one["sql"]]))
    assert counts[0] == counts[1] <= 12


# --- rebuilding ---


def spoil():
    """A wrong sum, a lost row, one of a week without a workout."""
    rows = list(WorkoutWeek.objects.order_by("pk"))
    WorkoutWeek.objects.filter(pk=rows[0].pk).update(tried=9_999)
    rows[1].delete()
    WorkoutWeek.objects.create(
        player=rows[2].player, iso_year=2020, iso_week=1, workouts=0, daily_loads=[0] * 7
    )
    DrillWeek.objects.filter(pk=DrillWeek.objects.first().pk).update(sessions=[[1, 1]])


@pytest.fixture
def told(caplog):
    caplog.set_level(logging.INFO, logger="devplans")
    return caplog


def test_what_differs_is_put_right_and_told(cast, logged, told):
    before = contents()
    spoil()
    assert contents() != before
    assert rebuild_weeks() == 4
    assert contents() == before
    assert f"Week rows of {cast.club}: 4 differed, put right." in told.text
    told.clear()
    times = list(WorkoutWeek.objects.order_by("pk").values_list("pk", "updated_at"))
    assert rebuild_weeks() == 0
    assert list(WorkoutWeek.objects.order_by("pk").values_list("pk", "updated_at")) == times
    assert "players compared, 0 differed" in told.text
    assert "put right" not in told.text


def test_the_command_does_the_same(cast, logged):
    before = contents()
    spoil()
    for number in (4, 0):
        out = StringIO()
        call_command("rebuild_weeks", stdout=out)
        assert f"{number} rows differed" in out.getvalue()
    assert contents() == before


def test_another_time_zone_moves_the_rows_at_once(cast):
    """Sunday half past eleven in London is Monday in Auckland."""
    make.make_workout(cast.kid, started_at=datetime(2026, 11, 22, 23, 30, tzinfo=UTC))
    make.make_workout(cast.far_kid, started_at=datetime(2026, 11, 22, 23, 30, tzinfo=UTC))
    change_club(actor=cast.director, club=cast.club, zone="Pacific/Auckland")
    found = {row.player_id: row.iso_week for row in WorkoutWeek.objects.all()}
    assert found == {cast.kid.pk: 48, cast.far_kid.pk: 47}
    assert WorkoutWeek.objects.get(player=cast.kid).daily_loads == [200, 0, 0, 0, 0, 0, 0]


def test_a_change_that_fails_moves_no_row(cast, monkeypatch):
    make.make_workout(cast.kid, started_at=datetime(2026, 11, 22, 23, 30, tzinfo=UTC))
    monkeypatch.setattr(rebuilding, "rewrite_all", lambda *_args: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        change_club(actor=cast.director, club=cast.club, zone="Pacific/Auckland")
    cast.club.refresh_from_db()
    assert cast.club.zone == ZONE
    assert WorkoutWeek.objects.get().iso_week == 47


def test_another_setting_of_the_club_rebuilds_nothing(cast, monkeypatch):
    monkeypatch.setattr(rebuilding, "rewrite_all", lambda *_args: 1 / 0)
    change_club(actor=cast.director, club=cast.club, name="Other Herons")


def test_the_migration_fills_what_the_services_write(cast, logged):
    """Workouts that were there before the rows: the same rows, made without our code."""
    drill = make.make_drill()
    at = FIRST + timedelta(days=2)
    workout = make.make_workout(cast.kid, started_at=at, minutes=None, sets=[{"drill": drill}])
    one = workout.sets.get()
    for place, (of, made) in enumerate([(one, True), (one, False), (None, True)]):
        workout.shots.create(set=of, position=place, x_mm=0, y_mm=4_000, made=made)
    make.sum_weeks(workout)
    make.make_workout(cast.kid, started_at=at, deleted_at=at)
    before = contents()
    fill = importlib.import_module("devplans.workouts.migrations.0006_fill_week_rows")
    fill.empty(apps, None)
    assert contents() == [[], []]
    fill.fill(apps, None)
    assert contents() == before


# --- tallies ---


@pytest.fixture
def counted(cast):
    """Two closed counts of the dates of a calendar: a whole film, and a sample of another."""
    at = datetime(2026, 11, 22, 23, 30, tzinfo=UTC)
    event = Event.objects.create(
        squad=cast.squad, kind="game", starts_at=at, ends_at=at + timedelta(hours=2)
    )
    skill = make.make_skill()
    for scope in ("whole", "sample"):
        film = make.make_film(cast.squad, duration_ms=600_000, event=event)
        for number in range(12):
            make.make_possession(film, number * 10_000, number * 10_000 + 9_000)
        tally = tallying.start_tally(
            actor=cast.coach, film=film, skills=[skill], players=[cast.kid], scope=scope, drawn=6
        )
        places = dict(tally.possessions.values_list("place", "start_ms"))
        chances = [
            tallying.Chance(
                uuid4(), places.get(n, 1_000) + 100, cast.kid.pk, skill.pk, n % 2 == 0,
                place=n if places else None,
            )
            for n in range(5)
        ]  # fmt: skip
        tallying.keep_marks(actor=cast.coach, tally=tally, chances=chances, seen=range(tally.drawn))
        tallying.close_tally(actor=cast.coach, tally=tally, sure=True)
    return event


def tally_rows():
    names = ("tally", "player", "skill", "iso_week", "film_on", "made", "tried", "low", "high")
    return sorted(TallyWeek.objects.values_list(*names), key=str)


def test_rows_of_tallies_are_put_right_too(cast, counted, told):
    before = tally_rows()
    assert [row[5:7] for row in before] == [(3, 5), (3, 5)]
    TallyWeek.objects.filter(low=None).update(made=0)
    TallyWeek.objects.filter(low__isnull=False).delete()
    out = StringIO()
    call_command("rebuild_weeks", stdout=out)
    assert "Tallies: 2 rows differed" in out.getvalue()
    assert f"Tally rows of {cast.club}: 2 differed, put right." in told.text
    assert tally_rows() == before
    assert tally_rebuilding.rebuild() == 0


def test_an_open_tally_loses_rows_that_a_fault_has_left(cast, counted):
    tally = TallyWeek.objects.first().tally
    type(tally).objects.filter(pk=tally.pk).update(closed_at=None)
    assert tally_rebuilding.rebuild() == 1
    assert not tally.weeks.exists()


def test_rows_of_tallies_follow_the_zone_and_the_date(cast, counted):
    change_club(actor=cast.director, club=cast.club, zone="Pacific/Auckland")
    assert {row[3] for row in tally_rows()} == {48}
    counted.starts_at -= timedelta(days=7)
    counted.save(update_fields=["starts_at"])
    assert {row[3] for row in tally_rows()} == {47}
    film = TallyWeek.objects.first().tally.film
    film.event, film.recorded_at = None, datetime(2026, 10, 1, tzinfo=UTC)
    film.save(update_fields=["event", "recorded_at"])
    assert {row[3] for row in tally_rows()} == {40, 47}
