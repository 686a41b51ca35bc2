"""The end of a workout on a phone, in Chromium: what is asked before it is saved."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from devplans.workouts.models import Workout
from tests.workouts.handset import asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]

KEPT = asked_of_outbox("getAllKeys")


@pytest.fixture
def phone(spots_phone):
    return spots_phone


def test_whether_something_hurts_is_answered_before_a_workout_is_saved(phone):
    """Without a connection as well. That effort is open is said once, and then taken."""
    phone.log("spots")
    phone.tap("made", 4)
    phone.says("Saved.")
    phone.context.set_offline(True)
    phone.tap("to-finish")
    save = phone.page.get_by_role("button", name="Save the workout")
    effort = phone.page.get_by_text("the load does not count this workout then")
    hurts = phone.page.get_by_text("Answer this before you save: no or yes?")
    expect(effort).to_be_hidden()
    save.tap()
    expect(effort).to_be_visible()
    expect(hurts).to_be_visible()
    expect(phone.page.locator("[name=effort]").first).to_be_focused()
    save.tap()
    expect(phone.page.locator("[name=hurts]").first).to_be_focused()
    phone.hurts("no")
    expect(hurts).to_be_hidden()
    phone.page.get_by_label("Minutes").fill("35")
    save.tap()
    expect(phone.page.get_by_role("heading", name="Done for today")).to_be_visible()
    expect(phone.page.locator("[data-part=did]")).to_have_text("1 set, 4 of 4 made · 35 min")
    assert Workout.objects.get().minutes is None
    phone.context.set_offline(False)
    phone.page.get_by_role("link", name="See the workout").wait_for()
    kept = Workout.objects.get()
    assert (kept.minutes, kept.effort, kept.pain) == (35, None, "")


def test_with_effort_answered_only_the_pain_is_asked_for(phone):
    phone.log("spots")
    phone.tap("made")
    phone.tap("to-finish")
    phone.page.locator("[name=effort][value='0']").locator("..").tap()
    save = phone.page.get_by_role("button", name="Save the workout")
    save.tap()
    expect(phone.page.get_by_role("alert")).to_have_text("Answer this before you save: no or yes?")
    phone.hurts("no")
    save.tap()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    assert Workout.objects.get().effort == 0


def test_minutes_that_cannot_be_are_told_before_they_are_sent(phone):
    phone.log("spots")
    phone.tap("made")
    phone.tap("to-finish")
    for impossible in ("5000", "-3", "12.5"):
        phone.page.get_by_label("Minutes").fill(impossible)
        phone.page.get_by_role("button", name="Save the workout").tap()
        expect(phone.page.get_by_label("Minutes")).to_be_focused()
        expect(phone.page.get_by_text("Give whole minutes, at most 1440.")).to_be_visible()
    phone.page.get_by_label("Minutes").fill("1440")
    expect(phone.page.get_by_text("Give whole minutes, at most 1440.")).to_be_hidden()
    phone.page.locator("[name=effort][value='6']").locator("..").tap()
    phone.hurts("no")
    phone.page.get_by_role("button", name="Save the workout").tap()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    assert Workout.objects.get().minutes == 1440


def test_a_refused_workout_can_be_changed_and_saved(phone):
    """The phone's clock was days ahead; the answers outlive a reload and the clock's correction."""
    phone.page.clock.set_fixed_time(timezone.now() + timedelta(days=5))
    phone.log("spots")
    phone.tap("made", 2)
    phone.finish(pain="left ankle")
    phone.says("Not sent: This is more than a day ahead.")
    assert Workout.objects.count() == 0
    phone.page.clock.set_fixed_time(timezone.now())
    phone.page.reload()
    phone.says("Not sent: This is more than a day ahead.")
    phone.page.get_by_role("button", name="Change the answers").tap()
    assert phone.page.get_by_label("Minutes").input_value() == "35"
    assert phone.page.get_by_label("Where, and since when?").input_value() == "left ankle"
    phone.page.get_by_role("button", name="Save the workout").tap()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    kept = Workout.objects.get()
    assert (kept.minutes, kept.effort, kept.pain) == (35, 6, "left ankle")
    assert kept.started_at <= timezone.now()
    assert phone.page.evaluate(KEPT) == []


def test_a_refused_workout_can_be_thrown_away(phone):
    phone.page.clock.set_fixed_time(timezone.now() + timedelta(days=5))
    phone.log("spots")
    phone.tap("made")
    phone.finish()
    phone.says("Not sent: This is more than a day ahead.")
    phone.tap("throw-away")
    phone.page.locator("workout-log").get_by_role("button", name="Throw away").tap()
    expect(phone.page.get_by_role("heading", name="Choose a drill")).to_be_visible()
    assert phone.page.evaluate(KEPT) == []
