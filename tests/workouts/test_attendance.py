"""Who was there: ticked by the coach, taken back, and counted in the hours exactly once."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.people.services import leave_squad
from devplans.schedule.services import cancel_event
from devplans.workouts import sums
from devplans.workouts.after import reading
from devplans.workouts.after.weekly import Attended, Session, known_week, untold_minutes
from devplans.workouts.attendance.services import mark_attendance, mark_rest_present
from devplans.workouts.models import Attendance
from tests import factories as make
from tests.workouts.known import history, last_week, noon, words_of

START = datetime(2026, 11, 17, 18, tzinfo=UTC)
DATE = Attended(START, START + timedelta(minutes=90))


@pytest.fixture
def practice(cast):
    return make.make_event(cast.squad, starts_at=noon(1), ends_at=noon(1) + timedelta(minutes=90))


def states(event):
    return {row.player.first_name: row.state for row in Attendance.objects.of_event(event)}


def path(event):
    return f"/workouts/dates/{event.pk}/who/"


def of_last_week(player):
    return reading.hours_of([player])[player.pk].last


# --- ticking ---


def test_all_but_the_excused_are_present_with_one_tap_and_undone_with_another(cast, practice):
    mark_attendance(actor=cast.coach, event=practice, marks={cast.mate.pk: "excused"})
    before = mark_rest_present(actor=cast.coach, event=practice)
    assert states(practice) == {"Ines": "present", "Tove": "present", "Runa": "excused"}
    mark_attendance(actor=cast.coach, event=practice, marks=before)
    assert states(practice) == {"Runa": "excused"}
    assert mark_attendance(actor=cast.coach, event=practice, marks={cast.mate.pk: "excused"}) == {}


def test_each_mark_is_audited_for_its_player(cast, practice):
    mark_attendance(actor=cast.coach, event=practice, marks={cast.kid.pk: "absent"})
    mark_attendance(actor=cast.coach, event=practice, marks={cast.kid.pk: ""})
    lines = AuditEntry.objects.filter(verb="workouts.attendance_marked").order_by("at")
    assert [(line.player_id, line.detail["state"]) for line in lines] == [
        (cast.kid.pk, "absent"),
        (cast.kid.pk, ""),
    ]
    assert not Attendance.objects.exists()


def test_what_cannot_be_ticked_is_told_and_nothing_is_kept(cast, practice):
    ahead = make.make_event(
        cast.squad,
        starts_at=timezone.now() + timedelta(days=2),
        ends_at=timezone.now() + timedelta(days=2, hours=1),
    )
    mark_attendance(actor=cast.coach, event=ahead, marks={cast.kid.pk: "excused"})
    for event, marks, code in [
        (ahead, {cast.kid.pk: "present"}, "attendance.ahead"),
        (practice, {cast.kid.pk: "late"}, "attendance.state"),
        (practice, {cast.sibling.pk: "present"}, "attendance.player"),
        (practice, {cast.far_kid.pk: "present"}, "attendance.player"),
    ]:
        with pytest.raises(DomainError) as error:
            mark_attendance(actor=cast.coach, event=event, marks=marks)
        assert error.value.code == code
    cancel_event(actor=cast.coach, event=practice)
    with pytest.raises(DomainError):
        mark_rest_present(actor=cast.coach, event=practice)
    with pytest.raises(PermissionDenied):
        mark_rest_present(actor=cast.guardian, event=ahead)
    assert states(practice) == {}


def test_whoever_left_since_is_still_on_the_list_of_that_day(cast, practice):
    leave_squad(actor=cast.coach, squad=cast.squad, player=cast.mate)
    page = words_of(cast.coach, path(practice))
    assert "Runa Lindqvist" in page
    assert "0 present, 0 excused, 0 absent, 3 not marked" in page


def test_the_page_ticks_undoes_and_takes_back(cast, practice):
    client = Client()
    client.force_login(cast.coach)

    def tap(**posted):
        answer = client.post(path(practice), posted, follow=True)
        assert answer.status_code == 200
        return answer.content.decode()

    assert "3 present, 0 excused, 0 absent, 0 not marked" in tap(do="all")
    assert "2 present, 0 excused, 1 absent, 0 not marked" in tap(mark=f"{cast.kid.pk}:absent")
    assert "3 present, 0 excused, 0 absent, 0 not marked" in tap(do="undo")
    assert "2 present, 0 excused, 0 absent, 1 not marked" in tap(mark=f"{cast.kid.pk}:")
    assert "2 present" in tap(mark="nonsense")
    assert "Choose present, excused or absent." in tap(mark=f"{cast.kid.pk}:late")


def test_the_calendar_leads_there_for_those_who_keep_it(cast, practice):
    for user, leads in [(cast.coach, True), (cast.director, True), (cast.guardian, False)]:
        assert ("Who was there" in words_of(user, "/calendar/?when=past")) == leads


# --- counting ---


def test_present_counts_the_length_of_the_date_with_the_team(cast, practice):
    mark_rest_present(actor=cast.coach, event=practice)
    mark_attendance(actor=cast.coach, event=practice, marks={cast.mate.pk: "excused"})
    known = of_last_week(cast.kid)
    assert (known.team, known.attended, known.own, known.rest_days) == (90, 90, 0, 6)
    assert known.load.total == 0
    assert of_last_week(cast.mate).team == 0
    assert "1 h 30 min" in history(cast.guardian, cast.kid)
    assert "known from the coach’s list" in history(cast.guardian, cast.kid)
    # The rows of the week say what was logged, and nothing else.
    assert sums.week_sums([cast.kid], *last_week())[cast.kid.pk].minutes_organised is None


def test_the_load_says_beside_itself_what_is_not_in_it(cast, practice):
    """Effort is known of what was logged, not of a list of who was there."""
    for weeks_ago in (0, 7):
        make.make_workout(cast.kid, started_at=noon(3 - weeks_ago), minutes=60, effort=5)
    page = history(cast.player, cast.kid)
    assert "Load last week: the same as the week before." in page
    assert "they have no effort and are in no load" not in page
    mark_rest_present(actor=cast.coach, event=practice)
    page = history(cast.player, cast.kid)
    assert "1 h 30 min of last week are known" in page
    assert "they have no effort and are in no load" in page
    assert "Of the week before it is 0 min: the change tells only of what was logged." in page
    squad = words_of(cast.coach, f"/workouts/squads/{cast.squad.pk}/hours/")
    assert "known only from the list of who was there has no effort" in squad


def test_what_the_family_logged_of_it_stands_and_a_coachs_count_is_filled_up(cast, practice):
    mark_rest_present(actor=cast.coach, event=practice)
    own = {"started_at": noon(1), "kind": "organised", "minutes": 75}
    make.make_workout(cast.kid, logged_by=cast.guardian, **own)
    make.make_workout(cast.mate, logged_by=cast.coach, **{**own, "minutes": 20})
    assert (of_last_week(cast.kid).team, of_last_week(cast.kid).attended) == (75, 0)
    assert (of_last_week(cast.mate).team, of_last_week(cast.mate).attended) == (90, 70)


def test_cancelled_and_running_dates_count_nothing(cast, practice):
    mark_rest_present(actor=cast.coach, event=practice)
    cancel_event(actor=cast.coach, event=practice)
    assert of_last_week(cast.kid).team == 0
    now = timezone.now()
    running = make.make_event(
        cast.squad, starts_at=now - timedelta(minutes=5), ends_at=now + timedelta(hours=1)
    )
    mark_rest_present(actor=cast.coach, event=running)
    assert reading.hours_of([cast.kid])[cast.kid.pk].this.team == 0


def test_hours_of_a_whole_squad_ask_no_more_for_more_dates(
    cast, practice, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    mark_rest_present(actor=cast.coach, event=practice)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        reading.hours_of([cast.kid])
    for day in (2, 3, 4):
        event = make.make_event(
            cast.squad, starts_at=noon(day), ends_at=noon(day) + timedelta(minutes=60)
        )
        mark_rest_present(actor=cast.coach, event=event)
    with django_assert_num_queries(len(asked)):
        reading.hours_of([cast.kid, cast.mate, cast.adult])


@pytest.mark.once
@pytest.mark.parametrize(
    ("after", "kind", "minutes", "by_family", "untold"),
    [
        (0, "organised", 75, True, 0),
        (-15, "organised", 75, True, 0),
        (-16, "organised", 75, True, 90),
        (89, "organised", 1, True, 0),
        (90, "organised", 75, True, 90),
        (0, "organised", None, True, 90),
        (0, "organised", 20, False, 70),
        (0, "organised", 120, False, 0),
        (0, "own", 30, True, 60),
        (-1, "own", 30, True, 90),
    ],
)
def test_a_session_is_the_date_in_which_it_began(after, kind, minutes, by_family, untold):
    session = Session(START + timedelta(minutes=after), kind, minutes, 5, by_family)
    assert untold_minutes([DATE], [session]) == untold


@pytest.mark.once
def test_two_dates_at_once_count_each_minute_once():
    other = Attended(START + timedelta(minutes=60), START + timedelta(minutes=120))
    within = Attended(START + timedelta(minutes=10), START + timedelta(minutes=20))
    assert untold_minutes([other, DATE, within], []) == 120


minutes = st.integers(-200, 400)
dates = st.lists(
    st.builds(
        lambda at, long: Attended(
            START + timedelta(minutes=at), START + timedelta(minutes=at + long)
        ),
        minutes,
        st.integers(1, 200),
    ),
    max_size=4,
)
logged = st.lists(
    st.builds(
        lambda at, kind, long, family: Session(
            START + timedelta(minutes=at), kind, long, None, family
        ),
        minutes,
        st.sampled_from(["own", "organised"]),
        st.none() | st.integers(0, 200),
        st.booleans(),
    ),
    max_size=4,
)


@pytest.mark.once
@given(given_=dates, sessions=logged)
def test_no_minute_counts_twice_and_none_of_the_log_is_lost(given_, sessions):
    whole = {
        minute
        for one in given_
        for minute in range(
            int((one.starts_at - START).total_seconds() // 60),
            int((one.ends_at - START).total_seconds() // 60),
        )
    }
    untold = untold_minutes(given_, sessions)
    assert 0 <= untold <= len(whole)
    assert untold_minutes(given_, []) == len(whole)
    week = (2026, 47)
    bare = known_week(sessions, None, week, "UTC")
    known = known_week(sessions, None, week, "UTC", given_)
    assert known.team == bare.team + untold
    assert (known.own, known.loads, known.unfinished) == (bare.own, bare.loads, bare.unfinished)
    assert known.trained >= bare.trained
