"""Logging in the gym, in Chromium: whole sets, the court, the keyboard, several at one basket."""

from time import monotonic

import pytest
from playwright.sync_api import expect

from devplans.stats.court import zone
from devplans.workouts.models import Shot, Workout, WorkoutSet
from tests import cast as people
from tests import factories as make
from tests.served import wait_for
from tests.workouts.handset import SIDEWAYS, SPOTS, Phone, faults_of

pytestmark = [pytest.mark.e2e, pytest.mark.once]

FIVE = "five-spot-shooting"
# Everything that can be pressed, but not a word inside a sentence.
SMALL = """() => [...document.querySelectorAll(
  "workout-log :is(button, input, summary, a, label.pick), form.form :is(button, label.pick)")]
  .filter((one) => one.checkVisibility() && !one.closest(".pick > *"))
  .map((one) => [one.getBoundingClientRect(), one.outerHTML.slice(0, 90)])
  .filter(([box]) => Math.round(box.width) < 48 || Math.round(box.height) < 48)
  .map(([box, words]) => `${box.width} x ${box.height} ${words}`)"""
# What a thumb takes from one target to the next, in ms: our own guess, on the slow side.
THUMB = 600
LOCKS = """(() => {
  window.locks = [];
  const request = async (kind) => {
    const lock = { kind, released: false, release: async () => { lock.released = true; } };
    window.locks.push(lock);
    return lock;
  };
  Object.defineProperty(navigator, "wakeLock", { value: { request } });
})()"""


@pytest.fixture
def opened(transactional_db, live_server, browser):
    """Opens phones; at the end none of them may have complained."""
    cast = people.build()
    make.make_drill(slug=FIVE, name="Five spots", how="Feet set.", **SPOTS)
    make.make_drill(slug="pullups", name="Pull-ups", **SPOTS)
    make.make_drill(slug="jumps", name="Wall jumps", **{**SPOTS, "counts": "reps"})
    make.make_drill(slug="pounds", name="Pounds", **{**SPOTS, "counts": "seconds"})
    phones = []

    def open_for(*, user="player", **options):
        phones.append(Phone(browser, live_server.url, cast, user=getattr(cast, user), **options))
        return phones[-1]

    yield open_for
    faults = [fault for phone in phones for fault in phone.faults]
    for phone in phones:
        phone.context.close()
    assert faults == []


@pytest.fixture
def phone(opened):
    return opened()


def tap_court(phone, x_mm, y_mm):
    """A finger on the court, at a place in millimetres from the point under the ring."""
    court = phone.page.locator("[data-part=court] svg")
    court.scroll_into_view_if_needed()
    box = court.bounding_box()
    left, top, width, depth = map(float, court.get_attribute("viewBox").split())
    x = box["x"] + (x_mm - left) / width * box["width"]
    y = box["y"] + (y_mm - top) / depth * box["height"]
    phone.page.touchscreen.tap(x, y)


def says_place(phone, words):
    expect(phone.page.locator("[data-part=place]")).to_have_text(words)


def on_court(phone):
    phone.page.get_by_label("on the court").check()


class Taps:
    """Taps with the pauses of a thumb, counted by the page itself. What a label passes on to its
    box, and what the keyboard does, has no `detail`."""

    COUNT = """(() => {
      window.taps = Number(sessionStorage.getItem("taps") ?? 0);
      addEventListener("click", (event) => {
        if (event.detail) sessionStorage.setItem("taps", ++window.taps);
      }, true);
    })()"""

    def __init__(self, phone):
        self.page, self.began, self.before = phone.page, monotonic(), self.heard(phone.page)

    @staticmethod
    def heard(page):
        return page.evaluate("Number(sessionStorage.getItem('taps') ?? 0)")

    def tap(self, selector, **more):
        self.page.wait_for_timeout(THUMB)
        self.page.locator(selector, **more).first.tap()

    def a_set(self, sets):
        """Taps and seconds that each of `sets` took."""
        taps = (self.heard(self.page) - self.before) / sets
        return taps, (monotonic() - self.began) / sets


def test_a_set_takes_at_most_two_taps(phone):
    """Makes: 1 tap. Reps: 1. Seconds: 1 whole, 2 by the watch."""
    phone.context.add_init_script(Taps.COUNT)
    taken = {}
    for slug, sets in ((FIVE, 5), ("jumps", 5), ("pounds", 5)):
        phone.log(slug)
        thumb = Taps(phone)
        for number in range(sets):
            count = 5 + number if slug == FIVE else {"jumps": 10, "pounds": 10}[slug]
            thumb.tap(f"[data-do=whole][data-count='{count}']")
        taken[slug] = thumb.a_set(sets)
        expect(phone.page.get_by_text("All sets of this drill are done.")).to_be_visible()
    phone.says("Saved.")
    thumb = Taps(phone)
    thumb.tap("[data-do=timer]")
    phone.page.wait_for_timeout(2_000)
    thumb.tap("[data-do=timer]")
    taken["by the watch"] = thumb.a_set(1)
    print({name: f"{taps:g} taps, {seconds:.2f} s" for name, (taps, seconds) in taken.items()})
    assert {name: taps for name, (taps, _seconds) in taken.items()} == {
        FIVE: 1, "jumps": 1, "pounds": 1, "by the watch": 2,
    }  # fmt: skip
    kept = WorkoutSet.objects.order_by("position").values_list("made", "tried", "reps", "seconds")
    assert list(kept)[:15] == [
        *[(made, 10, None, None) for made in range(5, 10)],
        *[(None, None, 10, None)] * 5,
        *[(None, None, None, 10)] * 5,
    ]


def test_a_set_at_a_spot_takes_two_taps_and_keeps_the_place(phone):
    phone.context.add_init_script(Taps.COUNT)
    phone.log(FIVE)
    on_court(phone)
    names = ["Left corner", "Left wing", "Top", "Right wing", "Right corner"]
    thumb = Taps(phone)
    for made, name in enumerate(names, start=4):
        thumb.tap("[data-part=spots] .pick", has_text=name)
        thumb.tap(f"[data-do=whole][data-count='{made}']")
    taps, seconds = thumb.a_set(5)
    print(f"with its spot: {taps:g} taps, {seconds:.2f} s")
    assert taps == 2
    says_place(phone, "Right corner · 8 of 10 here")
    wait_for(lambda: Shot.objects.count() == 50)
    phone.says("Saved.")
    rules = phone.cast.club.rule_set
    told = [
        (zone(shot.x_mm, shot.y_mm, rules=rules).name, shot.made)
        for shot in Shot.objects.order_by("position")
    ]
    wanted = ["corner-left", "wing-left", "top", "wing-right", "corner-right"]
    for made, name in enumerate(wanted, start=4):
        assert (told.count((name, True)), told.count((name, False))) == (made, 10 - made)


def test_ten_shots_on_the_court_with_undo(phone):
    phone.log("pullups")
    on_court(phone)
    phone.tap("made")
    says_place(phone, "From where? Tap the court or choose a place first.")
    assert phone.rows() == ["–"]
    tap_court(phone, -3000, 3000)
    says_place(phone, "Mid-range, left")
    phone.tap("made", 3)
    phone.tap("missed", 2)
    says_place(phone, "Mid-range, left · 3 of 5 here")
    phone.tap("undo")
    says_place(phone, "Mid-range, left · 3 of 4 here")
    phone.tap("missed")
    tap_court(phone, 0, 7600)
    phone.tap("made", 5)
    says_place(phone, "Top, three · 5 of 5 here")
    assert phone.rows() == ["8 of 10", "–"]
    phone.says("Saved.")
    phone.page.reload()
    expect(phone.page.locator("[data-part=court] .make")).to_have_count(8)
    expect(phone.page.locator("[data-part=court] .miss")).to_have_count(2)
    held = WorkoutSet.objects.get()
    shots = Shot.objects.order_by("position")
    assert [shot.made for shot in shots] == [True] * 3 + [False] * 2 + [True] * 5
    assert all(shot.set_id == held.pk for shot in shots)
    for shot in shots[:5]:
        assert abs(shot.x_mm + 3000) < 60
        assert abs(shot.y_mm - 3000) < 60


def test_a_set_has_a_place_for_all_of_its_shots_or_for_none(phone):
    phone.log("pullups")
    phone.tap("made", 2)
    on_court(phone)
    tap_court(phone, 3000, 3000)
    phone.tap("missed", 3)
    phone.page.get_by_label("on the court").uncheck()
    phone.tap("made")
    assert phone.rows() == ["2 of 2", "0 of 3", "1 of 1"]
    phone.tap("undo")
    assert phone.rows() == ["2 of 2", "0 of 3"]
    phone.says("Saved.")
    assert list(WorkoutSet.objects.values_list("made", "tried")) == [(2, 2), (0, 3)]
    assert Shot.objects.count() == 3


def test_ten_shots_with_nothing_but_the_keyboard(phone):
    phone.log("pullups")
    keys = phone.page.keyboard
    phone.page.get_by_label("on the court").focus()
    keys.press("Space")
    phone.page.get_by_text("Places as a list").focus()
    keys.press("Enter")
    expect(phone.page.locator("[data-part=places]")).to_be_visible()
    keys.press("Tab")
    keys.press("Space")
    for _ in range(3):
        keys.press("ArrowRight")
    place = phone.page.locator("[name=place]:checked")
    expect(place).to_be_focused()
    chosen = place.input_value()
    keys.press("Tab")
    expect(phone.page.locator("[data-do=made]")).to_be_focused()
    for _ in range(6):
        keys.press("Enter")
    keys.press("Tab")
    for _ in range(4):
        keys.press("Space")
    assert phone.rows() == ["6 of 10", "–"]
    phone.says("Saved.")
    rules = phone.cast.club.rule_set
    shots = list(Shot.objects.all())
    assert len(shots) == 10
    assert {zone(shot.x_mm, shot.y_mm, rules=rules).name for shot in shots} == {chosen}


def test_one_spot_needs_no_choice_and_the_watch_stops_with_the_drill(phone):
    make.make_drill(slug="free-throw-sets", name="Free throws", **SPOTS)
    phone.log("free-throw-sets")
    on_court(phone)
    phone.tap("made", 2)
    says_place(phone, "Free-throw line · 2 of 2 here")
    phone.page.clock.install()
    phone.log("pounds")
    phone.tap("timer")
    phone.page.clock.run_for(12_000)
    phone.tap("next-drill")
    phone.page.get_by_label("Find a drill").fill("jumps")
    phone.page.locator("[data-drill=jumps]:visible").tap()
    phone.tap("reps")
    phone.page.clock.run_for(5_000)
    phone.says("Saved.")
    shots, watched, jumps = WorkoutSet.objects.order_by("position")
    assert (shots.made, shots.tried, shots.shots.count()) == (2, 2, 2)
    assert watched.drill.slug == "pounds"
    assert 12 <= watched.seconds <= 20
    assert (jumps.drill.slug, jumps.reps) == ("jumps", 1)


def test_the_rest_timer_starts_after_a_set_and_is_remembered(phone):
    phone.page.clock.install()
    phone.log("jumps")
    phone.tap("whole")
    expect(phone.page.locator("[data-part=resting]")).to_be_hidden()
    phone.page.get_by_text("Rest timer").tap()
    phone.page.get_by_label("1 min", exact=True).check()
    phone.page.reload()
    phone.tap("whole")
    left = phone.page.locator("[data-part=rest-left]")
    expect(left).to_have_text("1:00")
    phone.page.clock.run_for(15_000)
    expect(left).to_have_text("0:45")
    phone.page.clock.run_for(45_000)
    expect(left).to_have_text("go")
    phone.tap("whole")
    phone.tap("rest-over")
    expect(phone.page.locator("[data-part=resting]")).to_be_hidden()


def test_the_screen_stays_on_while_there_is_something_to_count(phone):
    phone.context.add_init_script(LOCKS)
    phone.log("jumps")
    held = "window.locks.map((lock) => lock.released)"
    wait_for(lambda: phone.page.evaluate(held) == [False])
    phone.page.evaluate("window.locks[0].released = true")
    phone.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    wait_for(lambda: phone.page.evaluate(held) == [True, False])
    phone.tap("whole")
    phone.finish()
    phone.page.get_by_role("link", name="See the workout").wait_for()
    wait_for(lambda: phone.page.evaluate(held) == [True, True])


def test_three_players_at_one_basket(opened):
    coach = opened(user="coach")
    page, cast = coach.page, coach.cast
    page.goto(f"{coach.address}/people/squads/{cast.squad.pk}/")
    page.get_by_role("link", name="Log for several").tap()
    expect(page.locator("label.pick")).to_have_count(3)
    found = faults_of(coach, "choosing players")
    assert page.evaluate(SMALL) == []
    for name in ("Runa", "Ines", "Tove"):
        page.locator("label.pick", has_text=name).tap()
    page.get_by_role("button", name="Begin to count").tap()
    page.get_by_label("Find a drill").fill("pull")
    page.locator("[data-drill=pullups]:visible").tap()
    coach.tap("made", 4)
    page.locator(".turn .pick", has_text="Ines").tap()
    coach.tap("missed", 2)
    page.locator(".turn .pick", has_text="Runa").tap()
    assert coach.rows() == ["4 of 4"]
    page.get_by_label("next player after each set").check()
    for made in (7, 8, 9):
        page.locator(f"[data-do=whole][data-count='{made}']").tap()
    turns = page.locator(".turn .of")
    expect(turns).to_have_text(["7 of 10", "8 of 10", "9 of 10"])
    coach.tap("undo")
    expect(turns).to_have_text(["7 of 10", "8 of 10", "–"])
    expect(page.get_by_role("radio", name="Tove")).to_be_checked()
    found += faults_of(coach, "counting three")
    assert page.evaluate(SMALL) == []
    page.locator("[data-do=whole][data-count='9']").tap()
    page.reload()
    expect(turns).to_have_text(["7 of 10", "8 of 10", "9 of 10"])
    coach.tap("to-finish")
    page.get_by_label("Minutes").fill("40")
    page.get_by_role("button", name="Save all workouts").tap()
    missing = page.locator("[data-part=hurts-wrong]")
    expect(missing).to_have_text("Answer this before you save, no or yes: Runa, Ines, Tove.")
    page.get_by_role("group", name="Ines").get_by_text("yes").tap()
    expect(missing).to_have_text("Answer this before you save, no or yes: Runa, Tove.")
    page.get_by_label("Ines: where, and since when?").fill("left ankle")
    found += faults_of(coach, "finishing three")
    assert page.evaluate(SMALL) == []
    page.get_by_role("button", name="no for everybody else").tap()
    expect(missing).to_be_hidden()
    page.get_by_role("button", name="Save all workouts").tap()
    page.get_by_role("link", name="Back to the squad").wait_for()
    ines = page.locator(f"[data-did='{cast.kid.pk}']")
    expect(ines).to_have_text("1 set, 8 of 10 made · 40 min")
    found += faults_of(coach, "done")
    assert found == []
    told = {one.player_id: one for one in Workout.objects.all()}
    assert len(told) == Workout.objects.count() == 3
    for player, made, pain in (
        (cast.mate, 7, ""),
        (cast.kid, 8, "left ankle"),
        (cast.adult, 9, ""),
    ):
        kept = told[player.pk]
        assert (kept.minutes, kept.effort, kept.kind) == (40, None, "organised")
        assert (kept.sets.get().made, kept.pain, kept.logged_by) == (made, pain, cast.coach)


def test_on_a_laptop_the_places_stand_open_beside_the_court(opened):
    phone = opened(viewport={"width": 1280, "height": 800})
    phone.log(FIVE)
    on_court(phone)
    places = phone.page.locator("[data-part=places]")
    expect(places).to_be_visible()
    court, beside = (
        phone.page.locator("[data-part=court] svg").bounding_box(), places.bounding_box()
    )  # fmt: skip
    assert beside["x"] >= court["x"] + court["width"]
    assert beside["y"] < court["y"] + court["height"]
    places.get_by_label("Mid-range, left").check()
    says_place(phone, "Mid-range, left")
    phone.page.keyboard.press("Tab")
    expect(phone.page.locator("[data-do=made]")).to_be_focused()
    phone.page.keyboard.press("Enter")
    says_place(phone, "Mid-range, left · 1 of 1 here")
    assert phone.page.evaluate(SIDEWAYS) == 0
    assert phone.page.evaluate(SMALL) == []
    assert faults_of(phone, "court on a laptop") == []


@pytest.mark.parametrize("width", [320, 390])
def test_the_court_is_fit_for_small_phones_and_large_letters(opened, width):
    phone = opened(viewport={"width": width, "height": 700})
    phone.log(FIVE)
    on_court(phone)
    phone.page.get_by_text("Places as a list").tap()
    phone.page.get_by_text("Rest timer").tap()
    phone.page.locator("[data-part=spots] .pick").first.tap()
    phone.tap("made", 2)
    phone.tap("missed")
    assert phone.page.evaluate(SIDEWAYS) == 0
    assert phone.page.evaluate(SMALL) == []
    found = faults_of(phone, "court")
    phone.page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert phone.page.evaluate(SIDEWAYS) == 0
    assert found == []
