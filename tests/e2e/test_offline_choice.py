"""Two phones changed one workout: on every page one of them can be kept, the other, or both."""

import json

import pytest
from django.test import Client
from playwright.sync_api import expect

from devplans.workouts.models import Workout, WorkoutSet
from tests import cast as people
from tests import factories as make
from tests.served import wait_for
from tests.workouts.handset import SPOTS, Phone, asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]

ROWS = asked_of_outbox("getAll")
API = "/api/v1/workouts/"


@pytest.fixture
def phone(transactional_db, live_server, browser):
    cast = people.build()
    make.make_drill(slug="spots", name="Five spots", **SPOTS)
    opened = Phone(browser, live_server.url, cast)
    yield opened
    opened.context.close()
    assert opened.faults == []


def rows_are(phone, words):
    expect(phone.page.locator("[data-part=rows] li .of")).to_have_text(words)


def unsent(phone):
    return phone.page.locator("unsent-line")


def changed_elsewhere(phone):
    """Logged here, then changed by a guardian while this phone has more to say."""
    phone.log("spots")
    phone.tap("made", 2)
    phone.says("Saved.")
    phone.context.set_offline(True)
    phone.tap("missed", 3)
    held = Workout.objects.get()
    change(phone, held, made=6, tried=8)
    phone.context.set_offline(False)
    phone.says("changed elsewhere")
    return held


def change(phone, held, **counts):
    guardian = Client()
    guardian.force_login(phone.cast.guardian)
    body = guardian.get(f"{API}{held.pk}/").json()
    body["revision"] += 5
    body["sets"][0] |= counts
    kept = {name: body[name] for name in body if name not in {"id", "logged_by"}}
    answer = guardian.put(f"{API}{held.pk}/", json.dumps(kept), content_type="application/json")
    assert answer.status_code == 200, answer.content


def seen_on_another_page(phone):
    """With what both hold."""
    held = changed_elsewhere(phone)
    phone.page.goto(f"{phone.address}/goals/work/{phone.cast.kid.pk}/")
    expect(unsent(phone)).to_contain_text("1 set, 2 of 5. In the portal: 1 set, 6 of 8.")
    return held


def press(phone, name):
    unsent(phone).get_by_role("button", name=name, exact=True).tap()


def test_of_two_that_differ_this_phones_can_be_kept(phone):
    held = seen_on_another_page(phone)
    press(phone, "Keep this phone’s")
    wait_for(lambda: list(held.sets.values_list("made", "tried")) == [(2, 5)])
    expect(unsent(phone)).to_be_hidden()
    assert Workout.objects.count() == 1


def test_of_two_that_differ_the_portals_can_be_kept_and_that_be_undone(phone):
    held = seen_on_another_page(phone)
    press(phone, "Keep the portal’s")
    expect(unsent(phone)).to_contain_text("Thrown away.")
    expect(unsent(phone).get_by_role("button", name="Bring it back")).to_be_focused()
    phone.page.reload()
    press(phone, "Bring it back")
    expect(unsent(phone).get_by_role("button", name="Keep this phone’s")).to_be_visible()
    assert list(held.sets.values_list("made", "tried")) == [(6, 8)]
    press(phone, "Keep as a new workout")
    wait_for(lambda: Workout.objects.count() == 2)
    counts = WorkoutSet.objects.order_by("-made").values_list("made", "tried")
    assert list(counts) == [(6, 8), (2, 5)]
    expect(unsent(phone)).to_be_hidden()
    # Nothing of it is left to be sent again.
    wait_for(lambda: [row["dirty"] for row in phone.page.evaluate(ROWS)] in ([], [False]))


# --- on the log itself ---


def choose(phone, name):
    phone.page.locator("[data-part=conflict]").get_by_role("button", name=name, exact=True).tap()


def differs(phone):
    held = changed_elsewhere(phone)
    expect(phone.page.locator("[data-part=both]")).to_have_text(
        "This workout was changed elsewhere. "
        "On this phone: 1 set, 2 of 5. In the portal: 1 set, 6 of 8."
    )
    names = phone.page.locator("[data-part=conflict] button").all_inner_texts()
    assert names == ["Keep this phone’s", "Keep the portal’s", "Keep as a new workout"]
    return held


def test_what_is_counted_before_somebody_has_chosen_replaces_nothing(phone):
    """However many revisions ahead the other one was."""
    held = differs(phone)
    for number in range(8):
        phone.tap("missed" if number % 2 else "undo")
        phone.page.wait_for_timeout(1300)
    phone.says("changed elsewhere")
    phone.page.reload()
    phone.says("changed elsewhere")
    assert list(held.sets.values_list("made", "tried")) == [(6, 8)]
    phone.tap("missed")
    expect(phone.page.locator("[data-part=both]")).to_contain_text("On this phone: 1 set, 2 of 6.")
    choose(phone, "Keep this phone’s")
    phone.says("Saved.")
    assert list(held.sets.values_list("made", "tried")) == [(2, 6)]
    phone.tap("made")
    phone.says("Saved.")
    wait_for(lambda: list(held.sets.values_list("made", "tried")) == [(3, 7)])


def test_on_the_log_both_can_be_kept(phone):
    differs(phone)
    choose(phone, "Keep as a new workout")
    phone.says("Saved.")
    counts = WorkoutSet.objects.order_by("-made").values_list("made", "tried")
    assert list(counts) == [(6, 8), (2, 5)]
    assert phone.rows() == ["2 of 5"]
    phone.tap("made")
    wait_for(lambda: list(counts.all()) == [(6, 8), (3, 6)])


def test_on_the_log_the_portals_can_be_kept_and_that_be_undone(phone):
    held = differs(phone)
    choose(phone, "Keep the portal’s")
    # At the same drill, what comes next is another workout.
    expect(phone.page.get_by_role("heading", name="Five spots")).to_be_focused()
    rows_are(phone, ["–"])
    expect(phone.page.locator("[data-part=conflict]")).to_be_hidden()
    expect(unsent(phone)).to_contain_text("1 set, 2 of 5 · Thrown away.")
    press(phone, "Bring it back")
    phone.says("changed elsewhere")
    rows_are(phone, ["2 of 5"])
    phone.page.reload()
    choose(phone, "Keep the portal’s")
    phone.tap("made", 2)
    phone.says("Saved.")
    assert list(held.sets.values_list("made", "tried")) == [(6, 8)]
    assert Workout.objects.count() == 2


def test_something_newer_is_shown_before_it_is_replaced(phone):
    held = differs(phone)
    change(phone, held, made=7, tried=9)
    choose(phone, "Keep this phone’s")
    expect(phone.page.locator("[data-part=both]")).to_contain_text("In the portal: 1 set, 7 of 9.")
    assert list(held.sets.values_list("made", "tried")) == [(7, 9)]
    choose(phone, "Keep this phone’s")
    phone.says("Saved.")
    assert list(held.sets.values_list("made", "tried")) == [(2, 5)]
