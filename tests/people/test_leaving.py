"""A player who leaves the club leaves no phone and no calendar address of its behind."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from devplans.core.days import today
from devplans.core.models import AuditEntry
from devplans.goals.models import FeedToken
from devplans.goals.services import issue_feed
from devplans.people.models import Phone
from devplans.people.services import leave_squad, place_player
from tests.people.test_phones import JOIN, scan, secret_for, who


@pytest.fixture
def phone(cast):
    client = Client()
    scan(client, cast.guardian, cast.sibling)
    assert who(client) == "Luc"
    return client


def ics(secret):
    return Client().get(f"/goals/calendar/{secret}.ics").status_code


def leave(cast, **more):
    leave_squad(actor=cast.other_coach, squad=cast.other_squad, player=cast.sibling, **more)


def test_phone_code_and_calendar_end_with_the_last_place(cast, phone):
    spare = secret_for(cast.other_coach, cast.sibling)
    feed = issue_feed(actor=cast.guardian, subject=cast.sibling)
    other = issue_feed(actor=cast.guardian, subject=cast.kid)
    assert ics(feed) == 200
    leave(cast)
    assert who(phone) is None
    assert ics(feed) == 404
    assert FeedToken.objects.get(player=cast.sibling).ended_at
    assert ics(other) == 200
    Client().post(JOIN, {"code": spare})
    assert not Phone.objects.standing().filter(player=cast.sibling).exists()
    line = AuditEntry.objects.get(verb="people.phone_ended")
    assert (line.detail["reason"], line.player_id) == ("left", cast.sibling.pk)


def test_another_squad_keeps_both(cast, phone):
    place_player(actor=cast.director, squad=cast.squad, player=cast.sibling)
    feed = issue_feed(actor=cast.guardian, subject=cast.sibling)
    leave(cast)
    assert who(phone) == "Luc"
    assert ics(feed) == 200


def test_a_last_day_ahead_ends_them_on_that_day(cast, phone):
    last = today() + timedelta(days=3)
    feed = issue_feed(actor=cast.guardian, subject=cast.sibling)
    leave(cast, last_day=last)
    row = Phone.objects.get(player=cast.sibling)
    assert (row.last_day, row.ended_at) == (last, None)
    assert who(phone) == "Luc"
    assert ics(feed) == 200
    cast.sibling.squadplayers.update(until=today() - timedelta(days=1))
    assert ics(feed) == 404
    Phone.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert who(phone) is None


def test_who_comes_back_scans_anew_with_the_same_account(cast, phone):
    account = Phone.objects.get().user_id
    leave(cast)
    place_player(actor=cast.director, squad=cast.other_squad, player=cast.sibling)
    assert who(phone) is None
    scan(phone, cast.guardian, cast.sibling)
    assert who(phone) == "Luc"
    assert Phone.objects.standing().get().user_id == account


def test_an_account_without_address_cannot_sign_in_after_leaving(cast, phone):
    leave(cast)
    cast.sibling.refresh_from_db()
    user = cast.sibling.user
    assert user.email is None
    assert not user.has_usable_password()
    assert not user.memberships.exists()
