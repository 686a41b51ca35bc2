"""The workouts that a phone holds: two pages at once, no room, what the server refuses."""

import json
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from devplans.workouts.models import Workout, WorkoutSet
from tests import cast as people
from tests import factories as make
from tests.e2e.merging import MERGES
from tests.served import wait_for
from tests.workouts.handset import SPOTS, Phone, asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]

ROWS = asked_of_outbox("getAll")
API = "/api/v1/workouts/"


@pytest.fixture
def open_phone(transactional_db, live_server, browser):
    cast = people.build()
    make.make_drill(slug="spots", name="Five spots", **SPOTS)
    opened = []

    def one(**more):
        opened.append(Phone(browser, live_server.url, cast, **more))
        return opened[-1]

    yield one
    faults = [fault for phone in opened for fault in phone.faults]
    for phone in opened:
        phone.context.close()
    assert faults == []


@pytest.fixture
def phone(open_phone):
    return open_phone()


class Second:
    """Another page of the same phone."""

    def __init__(self, phone):
        self.page = phone.context.new_page()
        self.page.on("pageerror", lambda error: phone.faults.append(str(error)))

    tap, rows, says = Phone.tap, Phone.rows, Phone.says
    hurts, finish = Phone.hurts, Phone.finish

    def log(self, phone, slug="spots"):
        self.page.goto(f"{phone.address}/workouts/of/{phone.cast.kid.pk}/log/?drill={slug}")
        return self


def rows_are(one, words):
    expect(one.page.locator("[data-part=rows] li .of")).to_have_text(words)


def unsent(phone):
    return phone.page.locator("unsent-line")


def finish_in_the_future(phone):
    """One that the server refuses: the phone's clock is days ahead."""
    phone.page.clock.set_fixed_time(timezone.now() + timedelta(days=5))
    phone.log("spots")
    phone.tap("made", 2)
    phone.finish()
    phone.says("Not sent: This is more than a day ahead.")
    phone.page.clock.set_fixed_time(timezone.now())


# --- two pages at once ---

DEAF = """const heard = BroadcastChannel.prototype.addEventListener;
window.isDeaf = false;
BroadcastChannel.prototype.addEventListener = function (name, run) {
  heard.call(this, name, (event) => window.isDeaf || run(event));
};"""


def test_taps_on_two_pages_into_one_set_are_all_counted(phone):
    """The second page does not hear of the first, as one that slept."""
    phone.context.add_init_script(DEAF)
    phone.log("spots")
    phone.context.set_offline(True)
    phone.tap("made", 2)
    rows_are(phone, ["2 of 2"])
    second = Second(phone)
    phone.context.set_offline(False)
    second.log(phone)
    rows_are(second, ["2 of 2"])
    for page in (phone.page, second.page):
        page.evaluate("window.isDeaf = true")
    phone.tap("made", 2)
    second.tap("missed", 3)
    second.tap("undo")
    phone.tap("missed", 1)
    wait_for(lambda: tried_of(phone) == (4, 7))
    phone.says("Saved.")
    second.says("Saved.")
    wait_for(lambda: list(WorkoutSet.objects.values_list("made", "tried")) == [(4, 7)])
    # Both show the same as soon as they wake up.
    for page in (phone.page, second.page):
        page.evaluate("window.isDeaf = false")
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    rows_are(phone, ["4 of 7"])
    rows_are(second, ["4 of 7"])
    assert Workout.objects.count() == 1


def tried_of(phone):
    one = phone.page.evaluate(ROWS)[0]["workout"]["sets"][0]
    return one["made"], one["tried"]


def test_two_pages_tapped_in_turn_show_the_same(phone):
    phone.log("spots")
    second = Second(phone).log(phone)
    for number in range(1, 5):
        phone.tap("made")
        rows_are(second, [f"{2 * number - 1} of {2 * number - 1}"])
        second.tap("made")
        rows_are(phone, [f"{2 * number} of {2 * number}"])
    phone.says("Saved.")
    wait_for(lambda: list(WorkoutSet.objects.values_list("made", "tried")) == [(8, 8)])


def test_what_is_tapped_after_another_page_finished_is_another_workout(phone):
    phone.log("spots")
    phone.tap("made", 3)
    second = Second(phone).log(phone)
    rows_are(second, ["3 of 3"])
    phone.finish()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    first = Workout.objects.get()
    second.tap("missed", 2)
    rows_are(second, ["0 of 2"])
    second.says("Saved.")
    wait_for(lambda: Workout.objects.count() == 2)
    first.refresh_from_db()
    assert (first.minutes, first.effort) == (35, 6)
    held = WorkoutSet.objects.order_by("workout__created_at").values_list("made", "tried")
    assert list(held) == [(3, 3), (0, 2)]


def test_whatever_two_pages_tap_the_sums_are_those_of_both(phone):
    phone.log("spots")
    assert phone.page.evaluate(MERGES, "/static/workouts/merge.js") == []


# --- no room, or no storage ---

REFUSED = """Object.defineProperty(window, "indexedDB", {
  get() { return { open() { throw new DOMException("denied", "SecurityError"); } }; } });"""


def test_where_the_browser_keeps_nothing_the_log_says_so_and_still_sends(phone):
    phone.context.add_init_script(REFUSED)
    phone.log("spots")
    phone.context.set_offline(True)
    phone.tap("made", 3)
    expect(phone.page.get_by_text("This phone keeps nothing for this page.")).to_be_visible()
    expect(unsent(phone)).to_contain_text("stay on this page until it is sent")
    phone.context.set_offline(False)
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 3


FULL = """window.isFull = false;
const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (...given) {
  if (window.isFull) throw new DOMException("no room", "QuotaExceededError");
  return put.apply(this, given);
};"""


def test_a_full_phone_keeps_what_it_can_and_catches_up(phone):
    phone.context.add_init_script(FULL)
    phone.log("spots")
    phone.context.set_offline(True)
    phone.tap("made", 2)
    wait_for(lambda: tried_of(phone) == (2, 2))
    phone.page.evaluate("window.isFull = true")
    phone.tap("made", 2)
    expect(unsent(phone)).to_contain_text("This phone keeps nothing just now")
    assert tried_of(phone) == (2, 2)
    rows_are(phone, ["4 of 4"])
    # It is sent from memory all the same.
    phone.context.set_offline(False)
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 4
    phone.page.evaluate("window.isFull = false")
    phone.tap("missed")
    wait_for(lambda: tried_of(phone) == (4, 5))
    phone.says("Saved.")
    wait_for(lambda: WorkoutSet.objects.get().tried == 5)


def test_the_browser_is_asked_to_keep_once_there_is_something(phone):
    phone.context.add_init_script(
        """window.asked = 0;
        StorageManager.prototype.persist = async () => { window.asked += 1; return true; };
        StorageManager.prototype.persisted = async () => false;"""
    )
    phone.log("spots")
    phone.page.wait_for_load_state("networkidle")
    assert phone.page.evaluate("window.asked") == 0
    phone.tap("made", 3)
    phone.says("Saved.")
    assert phone.page.evaluate("window.asked") == 1


# --- what an earlier portal kept ---


def test_what_an_earlier_portal_kept_is_taken_over_and_sent(phone):
    kid, player = str(phone.cast.kid.pk), str(phone.cast.player.pk)
    mate, other = str(phone.cast.mate.pk), str(phone.cast.teammate.pk)
    at = (timezone.now() - timedelta(hours=1)).isoformat()
    facts = {"started_at": at, "touched_at": at, "minutes": None, "effort": None, "kind": "own"}
    facts |= {"pain": "", "note": "", "finished": False, "drill": "spots", "side": None}
    facts |= {"revision": 0, "acknowledged": 0, "changed": True}

    def old(of, key, made):
        one = {"id": key[:-1] + "f", "drill": "spots", "side": "none", "done": False}
        return {"id": key, "player": of, "sets": [one | {"made": made, "tried": 9}]} | facts

    kept = {
        f"workout:{player}:{kid}": json.dumps(old(kid, "11111111-1111-4111-8111-111111111110", 7)),
        f"workout:{other}:{mate}": json.dumps(old(mate, "22222222-2222-4222-8222-222222222220", 5)),
        f"workout:{player}:broken": "{",
        f"workout:{player}:odd": '{"sets": 3}',
        "rest": "30",
    }
    phone.page.goto(f"{phone.address}/offline/")
    phone.page.evaluate(
        "kept => Object.entries(kept).forEach((one) => localStorage.setItem(...one))", kept
    )
    phone.log("spots")
    rows_are(phone, ["7 of 9"])
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 7
    # The other's is kept for him, and not sent; what cannot be read stays where it is.
    assert {row["person"] for row in phone.page.evaluate(ROWS)} == {player, other}
    left = set(phone.page.evaluate("Object.keys(localStorage)"))
    assert left == {f"workout:{player}:broken", f"workout:{player}:odd", "rest"}
    phone.tap("made")
    phone.page.reload()
    rows_are(phone, ["8 of 10", "–"])


# --- what the server refuses ---


def press(phone, name):
    unsent(phone).get_by_role("button", name=name, exact=True).tap()


def test_a_refused_one_is_told_everywhere_copied_thrown_away_and_brought_back(phone):
    finish_in_the_future(phone)
    assert shown(phone, "Throw") == ["Throw it away"]
    phone.page.reload()
    phone.says("Not sent: This is more than a day ahead.")
    assert shown(phone, "Throw") == ["Throw it away"]
    phone.page.goto(f"{phone.address}/goals/work/{phone.cast.kid.pk}/")
    expect(unsent(phone)).to_contain_text("This is more than a day ahead.")
    press(phone, "Copy as text")
    assert "spots: 2 of 2" in unsent(phone).get_by_role("textbox").input_value()
    assert shown(phone, "Throw") == ["Throw away"]
    press(phone, "Throw away")
    expect(unsent(phone)).to_contain_text("Thrown away.")
    assert shown(phone, "Throw") == []
    press(phone, "Bring it back")
    unsent(phone).get_by_role("link", name="Open it").tap()
    phone.says("Not sent: This is more than a day ahead.")
    phone.page.get_by_role("button", name="Change the answers").tap()
    phone.page.get_by_role("button", name="Save the workout").tap()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    assert WorkoutSet.objects.get().made == 2
    assert phone.page.evaluate(ROWS) == []


def shown(phone, words):
    found = phone.page.get_by_role("button").all_inner_texts()
    return [one for one in found if one.startswith(words)]


def test_what_was_thrown_away_is_gone_for_good_after_a_while(phone):
    finish_in_the_future(phone)
    phone.page.goto(f"{phone.address}/goals/work/{phone.cast.kid.pk}/")
    press(phone, "Throw away")
    expect(unsent(phone)).to_contain_text("Thrown away.")
    phone.page.clock.set_fixed_time(timezone.now() + timedelta(minutes=11))
    phone.page.reload()
    wait_for(lambda: phone.page.evaluate(ROWS) == [])
    expect(unsent(phone)).to_be_hidden()
    assert Workout.objects.count() == 0
