"""Logging on a phone, in Chromium: what is tapped is kept, and sent once."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone
from playwright.sync_api import expect

from devplans.workouts.models import Workout, WorkoutSet
from tests import factories as make
from tests.workouts.handset import SPOTS, Phone, asked_of_outbox, faults_of

pytestmark = [pytest.mark.e2e, pytest.mark.once]

KEPT = asked_of_outbox("getAllKeys")


@pytest.fixture
def phone(spots_phone):
    return spots_phone


@pytest.mark.core
def test_seven_of_ten_at_five_spots_through_a_reload(phone):
    phone.log("spots")
    for spot in range(5):
        phone.tap("made", 4)
        if spot == 2:
            phone.page.reload()
        phone.tap("made", 3)
        phone.tap("missed", 3)
    assert phone.rows() == ["7 of 10"] * 5 + ["–"]
    expect(phone.page.get_by_text("All sets of this drill are done.")).to_be_visible()
    phone.finish()
    phone.page.get_by_role("link", name="See the workout").tap()
    phone.page.wait_for_url("**/workouts/*-*/")
    assert "35 of 50" in phone.page.inner_text("main")
    kept = Workout.objects.get()
    assert list(kept.sets.values_list("made", "tried")) == [(7, 10)] * 5
    assert (kept.minutes, kept.effort, kept.pain) == (35, 6, "")
    assert phone.page.evaluate(KEPT) == []


def test_without_a_connection_it_is_kept_and_sent_later(phone):
    phone.log("spots")
    phone.context.set_offline(True)
    phone.tap("made", 2)
    phone.says("No connection. Sets kept on this phone: 1.")
    assert Workout.objects.count() == 0
    expect(phone.page.get_by_role("button", name="Try now")).to_be_visible()
    phone.context.set_offline(False)
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 2


def test_nothing_moves_under_the_thumb_while_a_tap_is_sent(phone):
    """The line of what is not sent comes only where sending fails."""
    phone.log("spots")
    phone.page.wait_for_timeout(4500)
    button = phone.page.locator("[data-do=made]")
    where, held = button.bounding_box(), []
    phone.page.route("**/api/v1/workouts/**", lambda route: held.append(route))
    phone.tap("made")
    phone.says("Sending")
    expect(phone.page.locator("unsent-line")).to_be_hidden()
    assert button.bounding_box()["y"] == where["y"]
    held[0].continue_()
    phone.says("Saved.")
    assert button.bounding_box()["y"] == where["y"]


def test_an_answer_that_gets_lost_makes_no_second_workout(phone):
    phone.log("spots")
    lost = []

    def lose(route):
        if lost:
            route.continue_()
        else:
            lost.append(route.fetch().status)
            route.abort()

    phone.page.route("**/api/v1/workouts/**", lose)
    phone.tap("made", 3)
    phone.says("No connection.")
    phone.page.reload()
    phone.says("Saved.")
    assert lost == [201]
    kept = Workout.objects.get()
    assert (kept.revision, kept.sets.get().made) == (1, 3)


# A disk that is busy until the page is gone.
TAP_AND_LEAVE = """(times) => new Promise((resolve) => {
  const opening = indexedDB.open("portal", 1);
  opening.onsuccess = () => {
    const rows = opening.result.transaction("workouts", "readwrite").objectStore("workouts");
    const busy = () => { rows.get("").onsuccess = busy; };
    busy();
    const button = document.querySelector("workout-log button[data-do=made]");
    for (let tap = 0; tap < times; tap += 1) button.click();
    location.reload();
    resolve();
  };
})"""


def test_taps_of_the_very_moment_in_which_the_page_is_left_are_kept(phone):
    """The disk has taken none of them: neither the first of a workout nor later ones."""
    phone.log("spots")
    phone.context.route("**/api/v1/workouts/**", lambda route: route.abort())
    for more, sum_of_all in ((2, 2), (3, 5), (1, 6)):
        with phone.page.expect_navigation():
            phone.page.evaluate(TAP_AND_LEAVE, more)
        row = phone.page.locator("[data-part=rows] li .of").first
        expect(row).to_have_text(f"{sum_of_all} of {sum_of_all}")
        assert "unwritten" not in phone.page.evaluate("Object.keys(localStorage).join()")
    phone.context.unroute_all()
    phone.page.reload()
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 6


def test_what_was_deleted_elsewhere_can_be_kept_as_new(phone):
    phone.log("spots")
    phone.tap("made", 2)
    phone.says("Saved.")
    old = Workout.objects.get()
    client = Client()
    client.force_login(phone.cast.guardian)
    client.post(f"/workouts/{old.pk}/delete/")
    phone.tap("missed")
    phone.says("This workout was deleted.")
    # What is counted meanwhile waits for the answer, too.
    phone.tap("missed")
    phone.says("This workout was deleted.")
    acts = phone.page.locator("workout-log [data-act]:visible")
    expect(acts).to_have_text(["Keep as a new workout", "Throw away"])
    acts.first.tap()
    phone.says("Saved.")
    new = Workout.objects.kept().get()
    assert new.pk != old.pk
    assert list(new.sets.values_list("made", "tried")) == [(2, 4)]


def test_signed_out_it_stays_on_the_phone(phone):
    phone.log("spots")
    phone.tap("made")
    phone.says("Saved.")
    cookies = [c for c in phone.context.cookies() if c["name"] != settings.SESSION_COOKIE_NAME]
    phone.context.clear_cookies()
    phone.context.add_cookies(cookies)
    phone.tap("made")
    phone.says("you are signed out")
    expect(phone.page.get_by_role("link", name="Sign in", exact=True)).to_be_visible()
    assert len(phone.page.evaluate(KEPT)) == 1
    assert WorkoutSet.objects.get().tried == 1


def test_undo_and_typing_in(phone):
    phone.log("spots")
    phone.tap("made", 2)
    phone.tap("undo")
    assert phone.rows() == ["1 of 1"]
    phone.tap("type")
    phone.page.get_by_label("Made").fill("9")
    phone.page.get_by_label("Tried").fill("8")
    phone.page.get_by_role("button", name="Put it down").tap()
    expect(phone.page.get_by_role("alert")).to_have_text("More made than tried.")
    phone.page.get_by_label("Tried").fill("12")
    expect(phone.page.get_by_role("alert")).to_have_count(0)
    phone.page.get_by_role("button", name="Put it down").tap()
    assert phone.rows() == ["9 of 12", "–"]
    phone.says("Saved.")
    phone.tap("undo", 2)
    assert phone.rows() == ["–"]


@pytest.mark.parametrize("counts", ["makes", "reps", "seconds"])
def test_too_large_a_number_is_called_that_with_the_largest_one_taken(phone, counts):
    make.make_drill(slug="one", **{**SPOTS, "counts": counts})
    phone.log("one")
    phone.tap("type")
    fields = phone.page.locator("[data-part=typed] input:visible").all()
    for field in fields:
        field.fill("99999999")
    phone.page.get_by_role("button", name="Put it down").tap()
    said = "Too large. The largest number taken is 10,000."
    expect(phone.page.get_by_role("alert")).to_have_text(said)
    assert [field.input_value() for field in fields] == ["99999999"] * len(fields)
    for field in fields:
        field.fill("10000")
    phone.page.get_by_role("button", name="Put it down").tap()
    assert "10000" in phone.rows()[0]


def test_sides_change_by_themselves_and_by_hand(phone):
    make.make_drill(slug="both", **{**SPOTS, "sides": "both", "default_per_set": 2})
    make.make_drill(slug="weak", **{**SPOTS, "sides": "weak"})
    phone.log("both")
    phone.tap("made", 5)
    assert phone.sides() == ["left", "right", "left"]
    phone.page.get_by_label("right", exact=True).check()
    assert phone.sides() == ["left", "right", "right"]
    phone.says("Saved.")
    assert list(WorkoutSet.objects.values_list("side", flat=True)) == ["left", "right", "right"]
    phone.log("weak")
    assert phone.sides() == ["left"]


def test_reps_and_seconds(phone):
    make.make_drill(slug="jumps", **{**SPOTS, "counts": "reps"})
    make.make_drill(slug="holds", **{**SPOTS, "counts": "seconds"})
    phone.log("jumps")
    phone.page.get_by_role("button", name="five reps more").tap()
    phone.page.get_by_role("button", name="one rep more").tap()
    assert phone.rows() == ["6 reps"]
    phone.page.get_by_role("button", name="ten reps more").tap()
    assert phone.rows() == ["16 reps", "–"]
    phone.page.clock.install()
    phone.log("holds")
    # From here on time passes only as told: a slow machine adds no second.
    phone.page.clock.pause_at(timezone.now() + timedelta(minutes=1))
    phone.tap("timer")
    phone.page.clock.run_for(30_000)
    phone.tap("timer")
    assert phone.rows() == ["30 s", "–"]
    phone.page.clock.run_for(5_000)
    phone.says("Saved.")
    sets = WorkoutSet.objects.order_by("position").values_list("reps", "seconds", "tried")
    assert list(sets) == [(16, None, None), (None, 30, None)]


def test_pain_says_stop_and_nothing_of_the_page_leaks(phone):
    phone.log("spots")
    phone.tap("made")
    phone.finish(pain="left ankle")
    phone.page.get_by_role("link", name="See the workout").wait_for()
    words = phone.page.inner_text("main")
    assert "stop, and tell an adult now" in words
    assert "{" not in words
    assert Workout.objects.get().pain == "left ankle"


def test_a_workout_is_thrown_away(phone):
    phone.log("spots")
    phone.tap("made")
    phone.says("Saved.")
    phone.tap("to-finish")
    phone.tap("throw-away")
    phone.page.locator("workout-log").get_by_role("button", name="Throw away").tap()
    expect(phone.page.get_by_role("heading", name="Choose a drill")).to_be_visible()
    assert Workout.objects.kept().count() == 0
    assert phone.page.evaluate(KEPT) == []


def test_an_old_one_asks_to_be_finished(phone):
    phone.page.clock.install(time=timezone.now() - timedelta(hours=5))
    phone.log("spots")
    phone.tap("made", 2)
    phone.page.clock.run_for(5_000)
    phone.says("Saved.")
    phone.page.clock.set_fixed_time(timezone.now())
    phone.log()
    phone.page.get_by_role("button", name="Finish it").tap()
    assert phone.page.get_by_label("Minutes").input_value() == "1"


def test_a_drill_is_found_by_a_few_letters(phone):
    make.make_drill(slug="jumps", name="Wall jumps")
    phone.log()
    phone.page.get_by_label("Find a drill").fill("WALL")
    found = phone.page.locator("[data-family] [data-drill]:visible")
    assert found.all_inner_texts()[0].startswith("Wall jumps")
    assert found.count() == 1
    found.tap()
    expect(phone.page.get_by_role("heading", name="Wall jumps")).to_be_focused()


def test_each_state_of_the_log_can_be_read_by_everybody(phone):
    make.make_drill(slug="jumps", **{**SPOTS, "counts": "reps", "sides": "both"})
    phone.log("spots")
    phone.tap("made", 2)
    phone.says("Saved.")
    found = faults_of(phone, "counting")
    phone.tap("type")
    found += faults_of(phone, "typing")
    phone.context.set_offline(True)
    phone.tap("missed")
    phone.says("No connection.")
    found += faults_of(phone, "offline")
    phone.context.set_offline(False)
    phone.says("Saved.")
    phone.tap("next-drill")
    phone.page.locator("[data-family] summary").first.tap()
    found += faults_of(phone, "choosing")
    phone.page.locator("[data-drill=jumps]:visible").tap()
    found += faults_of(phone, "reps")
    phone.tap("to-finish")
    phone.page.get_by_role("button", name="Save the workout").tap()
    phone.hurts("yes")
    found += faults_of(phone, "finishing")
    phone.page.get_by_role("button", name="Save the workout").tap()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    found += faults_of(phone, "done")
    assert found == []


def test_without_scripts_the_page_leads_to_the_form(phone, browser):
    plain = Phone(browser, phone.address, phone.cast, java_script_enabled=False)
    plain.log()
    plain.page.get_by_role("link", name="Type in a finished workout").click()
    plain.page.get_by_label("Minutes").fill("20")
    first = plain.page.get_by_role("group", name="Set 1")
    first.get_by_label("Drill").select_option("spots")
    first.get_by_label("Made").fill("7")
    first.get_by_label("Tried").fill("10")
    plain.page.get_by_role("button", name="Save the workout").click()
    assert "7 of 10" in plain.page.inner_text("main")
    plain.context.close()
    assert WorkoutSet.objects.get().made == 7
