from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from devplans.digests import planning, services
from devplans.digests.models import Digest
from devplans.people.models import Club, MailChoice
from tests import factories as make

MONDAY = datetime(2026, 11, 23, 16, 0, tzinfo=UTC)  # week 48 begins; London is on UTC


def club_in(zone: str, **fields) -> Club:
    return Club(name="X", zone=zone, **{"digest_day": 0, "digest_hour": 16, **fields})


@pytest.mark.parametrize(
    ("minutes", "due"),
    [(-1, []), (0, [(2026, 47)]), (3 * 24 * 60 - 1, [(2026, 47)]), (3 * 24 * 60, [])],
)
def test_monday_16_tells_of_the_week_before_and_catches_up_for_three_days(minutes, due):
    assert planning.due_weeks(club_in("Europe/London"), MONDAY + timedelta(minutes=minutes)) == due


def test_a_sunday_slot_is_still_caught_up_on_monday():
    club = club_in("Europe/London", digest_day=6, digest_hour=20)
    assert planning.due_weeks(club, MONDAY) == [(2026, 46)]


@pytest.mark.parametrize(
    ("zone", "week"),
    [
        ("Europe/London", (2026, 43)),  # clocks go back on 25 October 2026
        ("Europe/London", (2026, 13)),  # and forward on 29 March 2026
        ("America/New_York", (2026, 44)),
        ("America/New_York", (2026, 10)),
        ("Australia/Lord_Howe", (2026, 40)),  # half an hour
        ("Australia/Lord_Howe", (2026, 14)),
    ],
)
@pytest.mark.parametrize("day", [0, 5, 6])
@pytest.mark.parametrize("hour", [2, 16])
def test_each_slot_of_a_clock_change_week_comes_once(zone, week, day, hour):
    """A tick every ten minutes over three weeks plans each week exactly once, clock change or
    not."""
    club = club_in(zone, digest_day=day, digest_hour=hour)
    start = planning.slot(club, week).astimezone(UTC) - timedelta(days=8)
    planned, first_seen = set(), {}
    for step in range(0, 16 * 24 * 6, 1):
        now = start + timedelta(minutes=10 * step)
        for due in planning.due_weeks(club, now):
            if due not in planned:
                planned.add(due)
                first_seen[due] = now
    gaps = [
        planning.slot(club, services.weeks.next_week(due)).astimezone(UTC)
        for due in sorted(first_seen)
    ]
    late = [first_seen[due] - gap for due, gap in zip(sorted(first_seen), gaps, strict=True)]
    assert all(timedelta(0) <= delay < timedelta(minutes=10) for delay in late[1:])
    assert len(planned) >= 2


def test_everybody_gets_what_is_theirs(cast):
    found = {
        (to.kind, to.recipient.first_name, str(to.subject)) for to in planning.addressees(cast.club)
    }
    assert found == {
        ("player", "Ines", str(cast.kid.pk)),
        ("player", "Runa", str(cast.mate.pk)),
        ("guardian", "Marta", str(cast.guardian.pk)),
        ("guardian", "Gudrun", str(cast.mate_guardian.pk)),
        ("coach", "Ravel", str(cast.squad.pk)),
        ("coach", "Osric", str(cast.other_squad.pk)),
        ("director", "Dana", str(cast.club.pk)),
    }


def test_who_said_no_gets_none(cast):
    MailChoice.objects.create(user=cast.guardian, kind="digest")
    assert "Marta" not in {to.recipient.first_name for to in planning.addressees(cast.club)}


def test_planning_twice_makes_each_digest_once(cast):
    now = planning.slot(cast.club, (2026, 48))
    services.plan_due(now=now)
    number = Digest.objects.filter(club=cast.club).count()
    services.plan_due(now=now + timedelta(minutes=10))
    assert Digest.objects.filter(club=cast.club).count() == number == 7


def test_a_club_elsewhere_has_its_own_monday(cast):
    cast.far_club.zone = "Pacific/Auckland"
    cast.far_club.save(update_fields=["zone"])
    now = datetime(2026, 11, 23, 16, 0, tzinfo=ZoneInfo("Pacific/Auckland"))
    services.plan_due(now=now)
    assert Digest.objects.filter(club=cast.far_club).exists()
    assert not Digest.objects.filter(club=cast.club).exists()


def test_a_player_who_left_and_his_guardian_get_none(cast):
    cast.kid.squadplayers.update(until=make.long_ago())
    cast.sibling.squadplayers.update(until=make.long_ago())
    names = {to.recipient.first_name for to in planning.addressees(cast.club)}
    assert not names & {"Ines", "Marta"}
