from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.schedule import services
from devplans.schedule.models import Event
from devplans.schedule.services import EventPlan

ROLES = [
    "director", "welfare", "coach", "other_coach", "player", "teammate", "guardian",
    "mate_guardian", "ex_guardian", "outsider", "stranger",
]  # fmt: skip


def utc(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def plan_at(starts_at, *, minutes=90, kind="practice", **more):
    return EventPlan(kind, starts_at, starts_at + timedelta(minutes=minutes), **more)


SOON = timezone.now() + timedelta(days=2)


def add(cast, starts_at=SOON, **more):
    return services.add_event(actor=cast.coach, squad=cast.squad, plan=plan_at(starts_at, **more))


def weekly(cast, starts_at, until, **more):
    return services.add_weekly(
        actor=cast.coach, squad=cast.squad, plan=plan_at(starts_at, **more), until=until
    )


def test_coaches_of_the_squad_and_directors_add_and_nobody_else(cast):
    allowed = set()
    for name in ROLES:
        try:
            services.add_event(actor=getattr(cast, name), squad=cast.squad, plan=plan_at(SOON))
        except PermissionDenied:
            continue
        allowed.add(name)
    assert allowed == {"coach", "director"}
    assert Event.objects.count() == 2


def test_the_squad_its_families_and_the_club_see_it(cast):
    event = add(cast)
    seen = {name for name in ROLES if event in Event.objects.visible_to(getattr(cast, name))}
    assert seen == {
        "director", "welfare", "coach", "player", "teammate", "guardian", "mate_guardian",
    }  # fmt: skip


def test_it_must_end_after_it_starts(cast):
    for minutes in (0, -30, 60 * 24 + 1):
        with pytest.raises(DomainError) as caught:
            add(cast, minutes=minutes)
        assert (caught.value.code, caught.value.field) == ("event.ends", "ends")
    assert not Event.objects.exists()


def test_a_practice_has_no_opponent(cast):
    assert add(cast, opponent="Ashdown Larks").opponent == ""
    game = add(cast, kind="game", opponent="Ashdown Larks")
    assert game.title == "Game v Ashdown Larks"
    assert add(cast, kind="game").title == "Game"


# Both changes of the clock in 2026 (IANA); the last two move by and stand at half hours.
@pytest.mark.parametrize(
    ("zone", "first", "until"),
    [
        ("Europe/London", date(2026, 3, 16), date(2026, 4, 13)),
        ("Europe/London", date(2026, 10, 12), date(2026, 11, 9)),
        ("America/New_York", date(2026, 2, 25), date(2026, 3, 25)),
        ("America/New_York", date(2026, 10, 21), date(2026, 11, 18)),
        ("Australia/Adelaide", date(2026, 3, 26), date(2026, 4, 23)),
        ("Australia/Adelaide", date(2026, 9, 24), date(2026, 10, 22)),
        ("Australia/Lord_Howe", date(2026, 3, 26), date(2026, 4, 23)),
        ("Australia/Lord_Howe", date(2026, 9, 24), date(2026, 10, 22)),
    ],
)
def test_every_week_keeps_the_time_on_the_wall(cast, zone, first, until):
    cast.club.zone = zone
    cast.club.save(update_fields=["zone"])
    here = ZoneInfo(zone)
    starts_at = datetime(first.year, first.month, first.day, 17, 30, tzinfo=here)
    events = weekly(cast, starts_at, until)
    local = [event.starts_at.astimezone(here) for event in Event.objects.order_by("starts_at")]
    assert [day.date() for day in local] == [first + timedelta(weeks=week) for week in range(5)]
    assert {day.strftime("%H:%M") for day in local} == {"17:30"}
    assert len({day.utcoffset() for day in local}) == 2
    assert {event.ends_at - event.starts_at for event in events} == {timedelta(minutes=90)}
    assert len({event.series for event in events}) == 1
    assert events[0].series is not None


def test_a_time_that_one_week_lacks_falls_after_the_gap(cast):
    starts_at = datetime(2026, 3, 22, 1, 30, tzinfo=ZoneInfo("Europe/London"))
    events = weekly(cast, starts_at, date(2026, 4, 5))
    assert [event.starts_at for event in events] == [
        utc("2026-03-22 01:30"), utc("2026-03-29 01:30"), utc("2026-04-05 00:30"),
    ]  # fmt: skip
    assert all(event.ends_at - event.starts_at == timedelta(minutes=90) for event in events)


def test_until_is_a_date_of_the_club(cast):
    cast.club.zone = "Pacific/Auckland"
    cast.club.save(update_fields=["zone"])
    # Tuesday morning there, Monday evening in UTC.
    starts_at = utc("2026-06-01 20:00")
    assert len(weekly(cast, starts_at, date(2026, 6, 16))) == 3
    assert len(weekly(cast, starts_at, date(2026, 6, 15))) == 2


@pytest.mark.parametrize("days", [-7, 0, 6, 53 * 7, 4_000])
def test_a_repeat_runs_for_a_week_at_least_and_a_year_at_most(cast, days):
    with pytest.raises(DomainError) as caught:
        weekly(cast, utc("2026-06-01 16:00"), date(2026, 6, 1) + timedelta(days=days))
    assert (caught.value.code, caught.value.field) == ("event.until", "until")
    assert not Event.objects.exists()


def test_the_longest_repeat(cast):
    events = weekly(cast, utc("2026-06-01 16:00"), date(2026, 6, 1) + timedelta(weeks=52))
    assert len(events) == 53


def test_cancelling_one_leaves_the_others(cast):
    events = weekly(cast, utc("2026-06-01 16:00"), date(2026, 6, 29))
    assert services.cancel_event(actor=cast.director, event=events[1]) == 1
    standing = Event.objects.filter(cancelled_at=None).order_by("starts_at")
    assert list(standing) == [events[0], *events[2:]]


def test_cancelling_from_here_on_leaves_the_earlier_ones_and_other_series(cast):
    events = weekly(cast, utc("2026-06-01 16:00"), date(2026, 6, 29))
    others = weekly(cast, utc("2026-06-03 16:00"), date(2026, 6, 29))
    alone = add(cast, utc("2026-06-20 10:00"))
    services.cancel_event(actor=cast.coach, event=events[3])
    assert services.cancel_event(actor=cast.coach, event=events[2], and_later=True) == 2
    standing = set(Event.objects.filter(cancelled_at=None))
    assert standing == {*events[:2], *others, alone}
    assert services.cancel_event(actor=cast.coach, event=alone, and_later=True) == 1


def test_cancelling_twice_changes_nothing(cast):
    event = add(cast)
    services.cancel_event(actor=cast.coach, event=event)
    event.refresh_from_db()
    first = event.cancelled_at
    assert services.cancel_event(actor=cast.coach, event=event) == 0
    event.refresh_from_db()
    assert event.cancelled_at == first
    services.restore_event(actor=cast.coach, event=event)
    event.refresh_from_db()
    assert event.cancelled_at is None


def test_changing_one_leaves_the_rest_of_its_series(cast):
    events = weekly(cast, utc("2026-06-01 16:00"), date(2026, 6, 15))
    plan = plan_at(utc("2026-06-09 17:00"), kind="game", opponent="Larks", place="Away hall")
    services.change_event(actor=cast.coach, event=events[1], plan=plan)
    rows = list(Event.objects.order_by("starts_at"))
    assert [row.starts_at for row in rows] == [
        utc("2026-06-01 16:00"), utc("2026-06-09 17:00"), utc("2026-06-15 16:00"),
    ]  # fmt: skip
    assert [row.title for row in rows] == ["Practice", "Game v Larks", "Practice"]


def test_what_is_ahead_and_what_is_over(cast):
    now = timezone.now()
    gone = add(cast, now - timedelta(days=3))
    running = add(cast, now - timedelta(minutes=30))
    later = add(cast, now + timedelta(days=3))
    off = add(cast, now + timedelta(days=1))
    services.cancel_event(actor=cast.coach, event=off)
    assert list(Event.objects.upcoming(now)) == [running, later]
    assert list(Event.objects.ahead(now)) == [running, off, later]
    assert list(Event.objects.over(now)) == [gone]


def test_every_write_is_audited_with_the_club(cast):
    event = add(cast)
    services.change_event(actor=cast.coach, event=event, plan=plan_at(SOON))
    services.cancel_event(actor=cast.coach, event=event)
    services.restore_event(actor=cast.coach, event=event)
    weekly(cast, SOON, (SOON + timedelta(weeks=3)).date())
    verbs = AuditEntry.objects.filter(club_id=cast.club.pk).order_by("at")
    assert list(verbs.values_list("verb", flat=True)) == [
        "schedule.event_added", "schedule.event_changed", "schedule.event_cancelled",
        "schedule.event_restored", "schedule.series_added",
    ]  # fmt: skip
