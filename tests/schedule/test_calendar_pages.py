from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.schedule import services
from devplans.schedule.models import Event
from devplans.schedule.services import EventPlan

NEXT_YEAR = timezone.now().year + 1
FORM = {"kind": "practice", "day": f"{NEXT_YEAR}-06-03", "starts": "17:30", "ends": "19:00"}


def event_in(squad, actor, *, days=2, **fields):
    starts_at = timezone.now() + timedelta(days=days)
    fields = {"kind": "practice", "place": "North hall", **fields}
    plan = EventPlan(starts_at=starts_at, ends_at=starts_at + timedelta(hours=1), **fields)
    return services.add_event(actor=actor, squad=squad, plan=plan)


@pytest.fixture
def as_coach(cast, client):
    client.force_login(cast.coach)
    return client


def test_a_coach_adds_one_date_by_the_clubs_clock(cast, as_coach):
    url = reverse("schedule:event-add", args=[cast.squad.pk])
    reply = as_coach.post(url, {**FORM, "place": "North hall", "until": ""})
    assert reply.url == reverse("schedule:calendar", args=[cast.squad.pk])
    event = Event.objects.get()
    # Summer time in London.
    assert event.starts_at == datetime(NEXT_YEAR, 6, 3, 16, 30, tzinfo=UTC)
    assert event.ends_at == datetime(NEXT_YEAR, 6, 3, 18, 0, tzinfo=UTC)
    text = as_coach.get(reply.url).content.decode()
    assert "17:30–19:00" in text
    assert "North hall" in text


def test_a_coach_repeats_it_every_week_and_cancels_the_rest(cast, as_coach):
    url = reverse("schedule:event-add", args=[cast.squad.pk])
    as_coach.post(url, {**FORM, "until": f"{NEXT_YEAR}-06-24"})
    events = list(Event.objects.order_by("starts_at"))
    assert len(events) == 4
    page = as_coach.get(reverse("schedule:event-edit", args=[events[1].pk]))
    assert page.context["later"] == 3
    cancel = reverse("schedule:event-cancel", args=[events[1].pk])
    as_coach.post(cancel, {"scope": "later"})
    assert Event.objects.filter(cancelled_at=None).get() == events[0]
    text = as_coach.get(reverse("schedule:calendar", args=[cast.squad.pk])).content.decode()
    assert text.count("<s>Practice</s> cancelled") == 3
    as_coach.post(reverse("schedule:event-restore", args=[events[1].pk]))
    assert Event.objects.filter(cancelled_at=None).count() == 2


def test_the_form_shows_the_date_as_it_is_and_saves_it_unchanged(cast, as_coach):
    event = event_in(cast.squad, cast.coach, kind="game", opponent="Ashdown Larks")
    Event.objects.filter(pk=event.pk).update(
        starts_at=datetime(NEXT_YEAR, 1, 14, 19, 0, tzinfo=UTC),
        ends_at=datetime(NEXT_YEAR, 1, 15, 0, 30, tzinfo=UTC),
    )
    before = Event.objects.values().get()
    url = reverse("schedule:event-edit", args=[event.pk])
    form = as_coach.get(url).context["form"]
    shown = {field.name: field.field.widget.format_value(field.value()) or "" for field in form} | {
        "kind": "game"
    }
    assert (shown["day"], shown["starts"], shown["ends"]) == (
        f"{NEXT_YEAR}-01-14",
        "19:00",
        "00:30",
    )
    as_coach.post(url, shown)
    after = Event.objects.values().get()
    assert {**after, "updated_at": None} == {**before, "updated_at": None}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"day": ""}, "day"),
        ({"day": "0001-01-01"}, "day"),
        ({"ends": "17:30"}, "ends"),
        ({"starts": "half five"}, "starts"),
        ({"kind": "party"}, "kind"),
        ({"until": f"{NEXT_YEAR}-06-04"}, "until"),
        ({"until": f"{NEXT_YEAR + 2}-06-04"}, "until"),
        # Sunday 29 March 2026: London's clock goes from 01:00 to 02:00.
        ({"day": "2026-03-29", "starts": "01:30", "ends": "03:00"}, "starts"),
    ],
)
def test_a_wrong_form_is_shown_again_with_the_reason(cast, as_coach, change, field):
    url = reverse("schedule:event-add", args=[cast.squad.pk])
    reply = as_coach.post(url, {**FORM, **change})
    assert reply.status_code == 422
    assert list(reply.context["form"].errors) == [field]
    assert not Event.objects.exists()


def test_a_guardian_sees_the_dates_of_both_children_and_no_others(cast, client):
    event_in(cast.squad, cast.director, place="Hall of the elder")
    event_in(cast.other_squad, cast.director, place="Hall of the younger")
    far = event_in(cast.far_squad, cast.outsider, place="Far hall")
    client.force_login(cast.guardian)
    text = client.get(reverse("schedule:calendar")).content.decode()
    assert "Hall of the elder" in text
    assert "Hall of the younger" in text
    assert "Far hall" not in text
    assert reverse("schedule:event-add", args=[cast.squad.pk]) not in text
    one = client.get(reverse("schedule:calendar", args=[cast.other_squad.pk])).content.decode()
    assert "Hall of the elder" not in one
    assert client.get(reverse("schedule:calendar", args=[far.squad_id])).status_code == 404


def test_past_dates_have_their_own_list(cast, as_coach):
    event_in(cast.squad, cast.coach, days=-5, place="Old hall")
    event_in(cast.squad, cast.coach, days=5, place="New hall")
    url = reverse("schedule:calendar", args=[cast.squad.pk])
    ahead, past = (
        as_coach.get(url).content.decode(),
        as_coach.get(url + "?when=past").content.decode(),
    )
    assert "New hall" in ahead
    assert "Old hall" not in ahead
    assert "Old hall" in past
    assert "New hall" not in past


def test_empty_calendars_say_what_to_do(cast, client):
    url = reverse("schedule:calendar")
    for name, words in [
        ("coach", "Add the next game or practice"),
        ("player", "as soon as a coach adds them"),
        ("stranger", "as soon as you belong to a squad"),
    ]:
        client.force_login(getattr(cast, name))
        assert words in client.get(url).content.decode(), name
    assert "Nothing has taken place yet" in client.get(url + "?when=past").content.decode()


def test_the_calendar_takes_a_fixed_number_of_queries(
    cast, as_coach, django_assert_max_num_queries
):
    for days in range(1, 31):
        event_in(cast.squad, cast.coach, days=days)
    url = reverse("schedule:calendar")
    as_coach.get(url)
    with django_assert_max_num_queries(20):
        as_coach.get(url)


def test_the_api_lists_what_the_user_may_read(cast, client):
    ours = event_in(cast.squad, cast.coach, kind="game", opponent="Larks")
    other = event_in(cast.other_squad, cast.director, days=4)
    event_in(cast.far_squad, cast.outsider)
    client.force_login(cast.guardian)
    body = client.get("/api/v1/events/").json()
    assert set(body) == {"next", "previous", "results"}
    assert [row["id"] for row in body["results"]] == [str(ours.pk), str(other.pk)]
    assert body["results"][0]["title"] == "Game v Larks"
    one = client.get(f"/api/v1/events/?squad={cast.other_squad.pk}").json()["results"]
    assert [row["id"] for row in one] == [str(other.pk)]
    assert client.get(f"/api/v1/events/?squad={cast.far_squad.pk}").json()["results"] == []
    reply = client.get("/api/v1/events/?squad=x")
    assert (reply.status_code, reply.json()) == (400, {"squad": ["This is not an id."]})
    assert client.post("/api/v1/events/", {}).status_code == 405
