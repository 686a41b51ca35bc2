"""The calendar addresses and the feed behind them."""

import re
from datetime import date, timedelta

import icalendar
import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.goals import services
from devplans.goals.models import FeedToken
from devplans.people import services as people_services
from devplans.people.models import User
from devplans.schedule import services as schedule
from devplans.schedule.models import Event
from devplans.schedule.services import EventPlan
from tests import factories as make
from tests.goals.conftest import NOW

PAGE = "/goals/calendar/"


def url(secret):
    return f"/goals/calendar/{secret}.ics"


def get(secret, **headers):
    """As a calendar asks: nobody is signed in."""
    return Client(headers=headers).get(url(secret))


def events_of(secret):
    answer = get(secret)
    assert answer.status_code == 200
    found = icalendar.Calendar.from_ical(answer.content)
    assert not found.errors
    return found.walk("VEVENT")


def titles(secret):
    return {str(event["SUMMARY"]) for event in events_of(secret)}


def plan(days=2, **more):
    starts = NOW + timedelta(days=days)
    more = {"kind": "practice", "place": "Mill Lane; hall 2, upstairs", **more}
    return EventPlan(starts_at=starts, ends_at=starts + timedelta(minutes=90), **more)


@pytest.fixture
def dates(people):
    """A practice, a game, and a plan with a drill for the kid and for a team-mate."""
    add = {"actor": people.coach, "squad": people.squad}
    people.practice = schedule.add_event(**add, plan=plan())
    people.game = schedule.add_event(**add, plan=plan(3, kind="game", opponent="Ashdown Larks"))
    for player in (people.kid, people.mate):
        services.add_plan_item(
            actor=people.coach, player=player, drill=people.drill, weekly_target=100
        )
    return people


def issue(people, who="player", subject="kid"):
    return services.issue_feed(actor=getattr(people, who), subject=getattr(people, subject))


def test_a_player_reads_his_dates_and_his_work(dates):
    found = {str(event["SUMMARY"]): event for event in events_of(issue(dates))}
    work = "Power layups: 100 makes this week"
    assert set(found) == {"Practice", "Game v Ashdown Larks", work}
    practice = found["Practice"]
    assert practice.start == dates.practice.starts_at
    assert practice.end - practice.start == timedelta(minutes=90)
    assert practice["LOCATION"] == "Mill Lane; hall 2, upstairs"
    weeks = [e for e in events_of(issue(dates)) if e["SUMMARY"] == work]
    # Monday of the fiftieth week to the Monday after it, and the week after.
    assert [(e.start, e.end) for e in weeks] == [
        (date(2026, 12, 7), date(2026, 12, 14)),
        (date(2026, 12, 14), date(2026, 12, 21)),
    ]


def test_a_guardian_reads_which_child_it_is_about(dates):
    assert titles(issue(dates, "guardian")) == {
        "Ines: Practice", "Ines: Game v Ashdown Larks", "Ines: Power layups: 100 makes this week",
    }  # fmt: skip
    assert titles(issue(dates, "guardian", "sibling")) == set()


def test_a_coach_reads_the_squad_and_no_name(dates):
    events = events_of(issue(dates, "coach", "squad"))
    (first, _second) = [e for e in events if str(e["SUMMARY"]).startswith("Planned")]
    assert first["SUMMARY"] == "Planned work: 2 players"
    assert first["DESCRIPTION"] == "Power layups: 2"
    raw = get(issue(dates, "coach", "squad")).content.decode()
    for name in ("Ines", "Runa", "Okafor", "Lindqvist"):
        assert name not in raw


def test_no_surname_no_other_child_no_comment_and_no_mark_of_a_person(dates):
    film = make.make_film(dates.squad)
    comment = make.make_comment(film, dates.coach, [dates.kid], happened="Late on the closeout.")
    make.make_delivery(comment, dates.kid)
    make.make_workout(dates.kid, pain="The left knee.", note="With the new ball.")
    raw = get(issue(dates, "guardian")).content.decode().replace("\r\n ", "")
    kept = [dates.kid, dates.guardian, dates.player, dates.squad, dates.practice, dates.coach]
    for word in [
        "Okafor", "Lindqvist", "Runa", "Luc", "closeout", "knee", "ball", "@", "127.0.0.1",
        *(str(row.pk) for row in kept),
    ]:  # fmt: skip
        assert word not in raw, word
    uids = re.findall(r"UID:(.+)\r", raw)
    assert len(set(uids)) == 4
    assert all(re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", uid) for uid in uids)


def test_a_cancelled_date_stays_with_its_key_and_a_higher_number(dates):
    secret = issue(dates)
    before = next(e for e in events_of(secret) if e["SUMMARY"] == "Practice")
    schedule.cancel_event(actor=dates.coach, event=dates.practice)
    after = next(e for e in events_of(secret) if e["UID"] == before["UID"])
    assert (before["STATUS"], after["STATUS"]) == ("CONFIRMED", "CANCELLED")
    assert after["SEQUENCE"] == before["SEQUENCE"] + 1
    assert after["SUMMARY"] == "Cancelled: Practice"
    schedule.restore_event(actor=dates.coach, event=dates.practice)
    schedule.change_event(actor=dates.coach, event=dates.practice, plan=plan(4))
    again = next(e for e in events_of(secret) if e["UID"] == before["UID"])
    assert (again["STATUS"], again["SEQUENCE"]) == ("CONFIRMED", before["SEQUENCE"] + 3)


def test_what_a_paused_goal_asks_for_is_not_in_it(dates, live):
    services.add_plan_item(actor=dates.coach, player=dates.kid, drill=make.make_drill(), goal=live)
    secret = issue(dates)
    assert len([title for title in titles(secret) if "this week" in title]) == 2
    services.pause_goal(actor=dates.coach, goal=live)
    assert len([title for title in titles(secret) if "this week" in title]) == 1


def test_a_calendar_that_knows_it_already_is_told_so(dates, clock):
    secret = issue(dates)
    first = get(secret)
    assert first["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in first["Cache-Control"]
    clock.now += timedelta(hours=5)
    again = get(secret, if_none_match=first["ETag"])
    assert (again.status_code, again.content) == (304, b"")
    assert "private" in again["Cache-Control"]
    schedule.cancel_event(actor=dates.coach, event=dates.game)
    assert get(secret, if_none_match=first["ETag"]).status_code == 200


def test_head_is_answered_and_nothing_can_be_sent(dates):
    secret = issue(dates)
    assert Client().head(url(secret)).status_code == 200
    assert Client().post(url(secret)).status_code == 405


def test_an_unknown_an_ended_and_a_replaced_address_are_not_there(dates):
    first = issue(dates)
    assert get("x" * 43).status_code == 404
    second = issue(dates)
    assert (get(first).status_code, get(second).status_code) == (404, 200)
    assert services.end_feed(actor=dates.player, subject=dates.kid)
    assert get(second).status_code == 404
    assert not services.end_feed(actor=dates.player, subject=dates.kid)
    assert FeedToken.objects.count() == 1
    assert get(issue(dates)).status_code == 200


def test_an_address_lasts_no_longer_than_the_right_behind_it(dates):
    secret, squads = issue(dates, "guardian"), issue(dates, "coach", "squad")
    dates.kid.guardianships.update(until=timezone.now().date() - timedelta(days=1))
    dates.coach.memberships.update(until=timezone.now().date() - timedelta(days=1))
    assert (get(secret).status_code, get(squads).status_code) == (404, 404)
    own = issue(dates)
    User.objects.filter(pk=dates.player.pk).update(is_active=False)
    assert get(own).status_code == 404


@pytest.mark.parametrize(
    ("who", "subject"),
    [
        ("teammate", "kid"), ("coach", "kid"), ("director", "kid"), ("ex_guardian", "kid"),
        ("player", "squad"), ("guardian", "squad"), ("director", "squad"), ("outsider", "squad"),
        ("other_coach", "squad"), ("stranger", "kid"),
    ],
)  # fmt: skip
def test_others_get_no_address(dates, who, subject):
    with pytest.raises(PermissionDenied):
        issue(dates, who, subject)
    assert not FeedToken.objects.exists()


def test_the_secret_is_long_random_and_kept_nowhere(dates):
    secrets = {issue(dates) for _number in range(5)}
    assert len(secrets) == 5
    # 43 letters of base 64: 256 bits.
    assert all(len(secret) >= 43 for secret in secrets)
    kept = str(FeedToken.objects.values_list().get()) + str(list(AuditEntry.objects.values_list()))
    assert not any(secret in kept for secret in secrets)
    assert len(FeedToken.objects.get().token_hash) == 64


def test_the_page_shows_the_address_once(dates):
    client = Client()
    client.force_login(dates.guardian)
    page = client.get(PAGE).content.decode()
    assert page.count(">Make an address<") == 2
    made = client.post(f"{PAGE}players/{dates.kid.pk}/", {"step": "new"})
    assert "no-store" in made["Cache-Control"]
    (secret,) = set(re.findall(r"/goals/calendar/([\w-]{43})\.ics", made.content.decode()))
    assert "webcal://" in made.content.decode()
    assert get(secret).status_code == 200
    later = client.get(PAGE).content.decode()
    assert secret not in later
    assert "address made on" in later
    ended = client.post(f"{PAGE}players/{dates.kid.pk}/", {"step": "end"}, follow=True)
    assert "The address has ended." in ended.content.decode()
    assert get(secret).status_code == 404


def test_a_phone_that_a_code_signed_in_makes_no_address_that_would_outlive_it(dates):
    phone = Client()
    _row, code = people_services.show_code(actor=dates.guardian, player=dates.kid)
    phone.post(reverse("people:phone-join"), {"code": code})
    page = phone.get(PAGE)
    assert "Your guardian makes the address" in page.content.decode()
    assert phone.post(f"{PAGE}players/{dates.kid.pk}/", {"step": "new"}).status_code == 403
    assert not FeedToken.objects.exists()


def test_who_may_have_none_is_told_so(dates):
    client = Client()
    client.force_login(dates.director)
    assert "No calendar for you yet" in client.get(PAGE).content.decode()


def test_making_and_ending_are_written_down(dates):
    issue(dates)
    services.end_feed(actor=dates.player, subject=dates.kid)
    verbs = AuditEntry.objects.filter(verb__startswith="goals.feed").values_list("verb", flat=True)
    assert set(verbs) == {"goals.feed_issued", "goals.feed_ended"}


@pytest.mark.parametrize(("who", "subject"), [("guardian", "kid"), ("coach", "squad")])
def test_a_full_calendar_takes_no_more_queries(
    dates, who, subject, django_assert_max_num_queries, django_assert_num_queries
):
    secret = issue(dates, who, subject)
    with django_assert_max_num_queries(8) as few:
        get(secret)
    for number in range(40):
        schedule.add_event(actor=dates.coach, squad=dates.squad, plan=plan(number + 5))
    for _number in range(8):
        player = make.make_player(squad=dates.squad)
        for target in (player, dates.kid):
            services.add_plan_item(actor=dates.coach, player=target, drill=make.make_drill())
    with django_assert_num_queries(len(few)):
        get(secret)
    assert len(events_of(secret)) >= 42


def test_dates_of_long_ago_are_left_out(dates):
    Event.objects.filter(pk=dates.practice.pk).update(
        starts_at=NOW - timedelta(days=60), ends_at=NOW - timedelta(days=59)
    )
    assert "Practice" not in titles(issue(dates))
