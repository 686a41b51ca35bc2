"""The hours we know of: sums by the wall clock, published limits, one question a week."""

import re
from datetime import date, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from devplans.stats import weeks
from devplans.workouts import sums
from devplans.workouts.after import reading, services, youth
from devplans.workouts.after.weekly import MONOTONY_FLOOR, Elsewhere, Session, known_week
from tests import factories as make
from tests.workouts.known import aged, history, last_week, noon, words_of

# --- sums ---

CHANGES = [
    ("Europe/London", (2026, 13)),  # 29 March, 167 hours
    ("Europe/London", (2026, 43)),  # 25 October, 169 hours
    ("America/New_York", (2026, 10)),
    ("Australia/Lord_Howe", (2026, 14)),  # half an hour back
    ("America/Santiago", (2026, 36)),  # midnight is skipped
]
sessions = st.lists(
    st.builds(
        lambda minutes_in, kind, minutes, effort: (minutes_in, kind, minutes, effort),
        st.integers(-2_000, 12_200),
        st.sampled_from(["own", "organised"]),
        st.none() | st.integers(0, 200),
        st.none() | st.integers(0, 10),
    ),
    max_size=12,
)


@given(drawn=sessions, place=st.sampled_from(CHANGES))
def test_the_days_of_a_week_with_a_clock_change_add_up(drawn, place):
    zone, week = place
    start, end = weeks.bounds(*week, zone)
    assert (end - start) != timedelta(days=7)
    given_ = [
        Session(start + timedelta(minutes=after), kind, minutes, effort)
        for after, kind, minutes, effort in drawn
    ]
    local = [one.started_at.astimezone(ZoneInfo(zone)) for one in given_]
    inside = [
        (one, at) for one, at in zip(given_, local, strict=True) if at.isocalendar()[:2] == week
    ]
    found = known_week(given_, None, week, zone)
    for kind, minutes in (("own", found.own), ("organised", found.team)):
        assert minutes == sum(one.minutes or 0 for one, _at in inside if one.kind == kind)
    for day in range(7):
        rows = [one for one, at in inside if at.weekday() == day]
        finished = [one for one in rows if None not in (one.minutes, one.effort)]
        assert found.loads[day] == sum(one.minutes * one.effort for one in finished)
        assert (day in found.trained) == bool(rows)
    assert found.load.total == sum(found.loads)
    assert found.rest_days == 7 - len({at.weekday() for _one, at in inside})


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(drawn=sessions)
def test_the_page_and_the_api_sum_alike(cast, drawn):
    make.forget_workouts()
    zone, week = "Europe/London", (2026, 43)
    start, end = weeks.bounds(*week, zone)
    for after, kind, minutes, effort in drawn:
        make.make_workout(
            cast.kid,
            started_at=start + timedelta(minutes=after),
            kind=kind,
            minutes=minutes,
            effort=effort,
        )
    rows = reading.sessions_of([cast.kid], start, end)[cast.kid.pk]
    found = known_week(rows, None, week, zone)
    expected = sums.week_sums([cast.kid], *week)[cast.kid.pk]
    assert found.load.total == (expected.load or 0)
    assert found.own == (expected.minutes_own or 0)
    assert found.team == (expected.minutes_organised or 0)


# --- load, against the published arithmetic of seven days ---

WEEK_A = [(60, 5), (75, 7), None, (90, 6), (45, 3), (80, 8), None]


def put_week(phone, days):
    for day, pair in enumerate(days):
        if pair:
            at = noon(day).isoformat()
            phone.put(at=uuid4(), started_at=at, minutes=pair[0], effort=pair[1])


def test_load_of_a_week_end_to_end(phone):
    put_week(phone, WEEK_A)
    page = history(phone.cast.coach, phone.cast.kid)
    assert re.search(r"Load 0 2140\b", page)
    assert re.search(r"Days with nothing logged – 2\b", page)
    assert "monotony of last week 1.1" in page
    assert f"weekly load of {MONOTONY_FLOOR} on, a floor of our own choice" in page
    for reader in (phone.cast.player, phone.cast.guardian, phone.cast.director):
        assert "monotony" not in history(reader, phone.cast.kid)


@pytest.mark.parametrize(
    ("days", "says"),
    [
        ([(60, 5)] * 6 + [None], "monotony of last week 2.3"),
        ([(60, 5)] * 7, "no monotony of last week"),
        ([(20, 5)] * 6 + [None], "no monotony of last week"),
        ([None] * 7, "no monotony of last week"),
    ],
)
def test_monotony_needs_a_load_and_unlike_days(phone, days, says):
    put_week(phone, days)
    page = history(phone.cast.coach, phone.cast.kid)
    assert says in page
    assert "risk" not in page.lower()


def test_only_finished_workouts_have_a_load(phone):
    phone.put(at=uuid4(), started_at=noon(0).isoformat(), minutes=None, effort=None)
    phone.put(at=uuid4(), started_at=noon(1).isoformat(), minutes=30, effort=None)
    phone.put(at=uuid4(), started_at=noon(2).isoformat(), minutes=30, effort=4)
    found = reading.hours_of([phone.cast.kid])[phone.cast.kid.pk].last
    assert found.loads == (0, 0, 120, 0, 0, 0, 0)
    assert found.unfinished == 2
    assert "2 workouts of last week have no minutes or no effort" in history(
        phone.cast.player, phone.cast.kid
    )


def test_the_change_of_load_is_a_difference(phone):
    put_week(phone, [(60, 5), None, None, None, None, None, None])
    phone.put(
        at=uuid4(), started_at=(noon(0) - timedelta(days=7)).isoformat(), minutes=40, effort=5
    )
    page = history(phone.cast.player, phone.cast.kid)
    assert "Load last week: 100 more than the 200 of the week before." in page


# --- limits, every vector of the published table ---


@pytest.mark.parametrize(
    ("years", "grade", "minutes", "is_past", "limit"),
    [
        (8, "2", 180, False, 3),
        (8, "2", 181, True, 3),
        (11, "5", 300, False, 5),
        (11, "5", 301, True, 5),
        (12, "6", 600, False, 10),
        (13, "", 601, True, 10),
        (14, "8", 600, False, 10),
        (14, "8", 601, True, 10),
        (14, "grade 9", 601, False, 14),
        (14, "9th", 840, False, 14),
        (14, "9", 841, True, 14),
        (16, "", 840, False, 14),
    ],
)
def test_hours_with_the_team_beside_the_limit(phone, years, grade, minutes, is_past, limit):
    aged(phone.cast.kid, years, grade)
    put = minutes
    for day in range(0, 7, 3):
        part = min(put, 400)
        put -= part
        make.make_workout(
            phone.cast.kid, started_at=noon(day), minutes=part, kind="organised", effort=1
        )
    make.make_workout(phone.cast.kid, started_at=noon(0), minutes=300, kind="own", effort=1)
    page = history(phone.cast.guardian, phone.cast.kid)
    past = f"That is more than the {limit} h a week published"
    within = f"{limit} h a week are published as the most"
    assert (past in page, within in page) == (is_past, not is_past)
    assert "DiFiori et al. 2018" in page
    assert "of the hours we know of" in page
    assert "not medical advice" in page
    family = words_of(phone.cast.guardian, "/family/")
    assert (past in family) == is_past
    assert within not in family


@pytest.mark.parametrize(("minutes", "is_past"), [(720, False), (726, True)])
def test_hours_of_sport_beside_the_age(cast, minutes, is_past):
    aged(cast.kid, 12)
    make.make_workout(cast.kid, started_at=noon(0), minutes=300, kind="own", effort=1)
    make.make_workout(cast.kid, started_at=noon(2), minutes=300, kind="organised", effort=1)
    services.tell_hours(
        actor=cast.guardian,
        player=cast.kid,
        week=last_week(),
        elsewhere=Elsewhere(team=20, sport=minutes - 620, free=600),
    )
    page = history(cast.guardian, cast.kid)
    assert ("more hours than years of age (12)" in page) == is_past
    if is_past:
        assert "Jayanthi et al. 2015" in page
        assert "no diagnosis and not medical advice" in page


@pytest.mark.parametrize(
    ("organised", "elsewhere", "says"),
    [
        (600, Elsewhere(free=300), False),
        (606, Elsewhere(free=300), True),
        (300, Elsewhere(team=180, sport=126, free=300), True),
        (300, Elsewhere(team=180, sport=120, free=300), False),
        # Where no free play is told of there is no ratio.
        (600, Elsewhere(free=0), False),
        (600, None, False),
    ],
)
def test_organised_training_beside_free_play(cast, organised, elsewhere, says):
    aged(cast.kid, 14)
    make.make_workout(cast.kid, started_at=noon(0), minutes=organised, kind="organised", effort=1)
    make.make_workout(cast.kid, started_at=noon(0), minutes=500, kind="own", effort=1)
    services.tell_hours(actor=cast.guardian, player=cast.kid, week=last_week(), elsewhere=elsewhere)
    for reader in (cast.guardian, cast.coach):
        page = history(reader, cast.kid)
        assert ("more than two to one" in page) == says
        assert "risk" not in page.lower()
        if says:
            assert "Jayanthi et al. 2015" in page
            assert "an association, no cause and no diagnosis; a reason to talk" in page
            assert "10 h 6 min of training that somebody leads and 5 h of free play" in page
    # An association is no limit: it goes into no list of what lies past one.
    assert "two to one" not in words_of(cast.guardian, "/family/")


@pytest.mark.parametrize(("years", "days", "is_past"), [(11, 5, False), (11, 6, True), (13, 7, 1)])
def test_rest_days(cast, years, days, is_past):
    aged(cast.kid, years)
    for day in range(days):
        make.make_workout(cast.kid, started_at=noon(day), minutes=10, effort=1)
    page = history(cast.coach, cast.kid)
    assert ("nothing logged last week, as far as we know" in page) == bool(is_past)


def test_another_teams_hours_count_and_ones_own_do_not(cast):
    aged(cast.kid, 12)
    make.make_workout(cast.kid, started_at=noon(0), minutes=300, kind="organised", effort=1)
    make.make_workout(cast.kid, started_at=noon(1), minutes=400, kind="own", effort=1)
    assert "12 min of team basketball" not in history(cast.coach, cast.kid)
    services.tell_hours(
        actor=cast.player, player=cast.kid, week=last_week(), elsewhere=Elsewhere(team=312)
    )
    page = history(cast.coach, cast.kid)
    assert "10 h 12 min of team basketball, of the hours we know of. That is more" in page


def test_an_unknown_birth_date_is_asked_for(cast):
    cast.kid.born_on = None
    cast.kid.grade = "9"
    cast.kid.save()
    make.make_workout(cast.kid, started_at=noon(0), minutes=1_000, kind="organised")
    page = history(cast.coach, cast.kid)
    assert "birth date is not known. Please add it. Add the birth date" in page
    assert "DiFiori" not in page
    assert "The coach can enter it." in history(cast.guardian, cast.kid)


def test_an_adult_sees_no_youth_limit(cast):
    make.make_workout(cast.adult, started_at=noon(0), minutes=1_400, kind="organised")
    page = history(cast.coach, cast.adult)
    assert "published" not in page
    assert "23 h 20 min" in page


@pytest.mark.parametrize(
    ("text", "grade"),
    [("9", 9), (" 9th ", 9), ("Grade 12", 12), ("1st", 1), ("9.", 9), ("Year 10", None),
     ("13", None), ("0", None), ("", None), ("freshman", None), ("9-10", None)],
)  # fmt: skip
def test_a_grade_is_read_and_not_guessed(text, grade):
    assert youth.grade_of(text) == grade


@given(st.dates(date(1990, 1, 1), date(2020, 1, 1)), st.integers(0, 40))
def test_age_grows_on_the_birthday(born, years):
    try:
        birthday = born.replace(year=born.year + years)
    except ValueError:
        birthday = date(born.year + years, 3, 1)
    assert youth.age_on(born, birthday) == years
    assert youth.age_on(born, birthday - timedelta(days=1)) == years - 1
