"""Taps of the moment in which a page is left, on a slow disk: kept for their person, each once."""

import json

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import expect

from devplans.workouts.models import Workout, WorkoutSet
from tests import cast as people
from tests import factories as make
from tests.served import wait_for
from tests.workouts.handset import SPOTS, Phone, asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]

ROWS = asked_of_outbox("getAll")
NOTES = "Object.keys(localStorage).filter((key) => key.startsWith('unwritten:'))"
# Until this page is gone no page comes to the disk.
BUSY = """() => new Promise((resolve) => {
  const opening = indexedDB.open("portal", 1);
  opening.onsuccess = () => {
    const rows = opening.result.transaction("workouts", "readwrite").objectStore("workouts");
    const busy = () => { if (!window.isOver) rows.get("").onsuccess = busy; resolve(); };
    busy();
  };
})"""
TAP = """([name, times]) => {
  const button = document.querySelector(`workout-log button[data-do=${name}]`);
  for (let tap = 0; tap < times; tap += 1) button.click();
}"""
HIDE = """(isHidden) => {
  Object.defineProperty(document, "hidden", { configurable: true, get: () => isHidden });
  document.dispatchEvent(new Event("visibilitychange"));
}"""


@pytest.fixture
def phone(transactional_db, live_server, browser):
    cast = people.build()
    make.make_drill(slug="spots", name="Five spots", **SPOTS)
    opened = Phone(browser, live_server.url, cast)
    opened.context.route("**/api/v1/workouts/**", lambda route: route.abort())
    yield opened
    opened.context.close()
    assert opened.faults == []


def another(phone):
    page = phone.context.new_page()
    page.on("pageerror", lambda error: phone.faults.append(str(error)))
    log(phone, page)
    return page


def log(phone, page):
    page.goto(f"{phone.address}/workouts/of/{phone.cast.kid.pk}/log/?drill=spots")
    expect(page.locator("[data-part=count]")).to_be_visible()


def counts(page, words):
    expect(page.locator("[data-part=rows] li .of").first).to_have_text(words)


def notes(page):
    return page.evaluate(NOTES)


def sent(phone):
    phone.context.unroute_all()
    log(phone, phone.page)
    phone.says("Saved.")
    return list(WorkoutSet.objects.values_list("made", "tried"))


def sign_in(phone, user):
    client = Client()
    client.force_login(user)
    name = settings.SESSION_COOKIE_NAME
    cookie = {"name": name, "value": client.cookies[name].value, "url": phone.address}
    phone.context.add_cookies([cookie])


def test_two_pages_that_are_left_at_once_each_leave_their_taps(phone):
    log(phone, phone.page)
    phone.tap("made")
    second, third = another(phone), another(phone)
    for page in (second, third):
        counts(page, "1 of 1")
    phone.page.evaluate(BUSY)
    second.evaluate(TAP, ["made", 2])
    third.evaluate(TAP, ["missed", 3])
    for page in (second, third):
        page.goto("about:blank")
    wait_for(lambda: len(notes(phone.page)) == 2)
    phone.page.evaluate("window.isOver = true")
    wait_for(lambda: notes(phone.page) == [])
    counts(phone.page, "3 of 6")
    assert sent(phone) == [(3, 6)]
    assert Workout.objects.count() == 1


def busy_disk(phone):
    """A page beside those of the log, which only keeps the disk busy."""
    page = phone.context.new_page()
    page.goto(f"{phone.address}/offline/")
    page.evaluate(BUSY)
    return page


def test_a_page_that_is_open_counts_on_from_what_another_left(phone):
    log(phone, phone.page)
    phone.tap("made")
    second = another(phone)
    second.evaluate(BUSY)
    second.evaluate(TAP, ["missed", 2])
    second.close()
    counts(phone.page, "1 of 3")
    phone.tap("made")
    counts(phone.page, "2 of 4")
    phone.page.reload()
    counts(phone.page, "2 of 4")
    wait_for(lambda: notes(phone.page) == [])
    assert sent(phone) == [(2, 4)]


def test_what_was_left_lies_there_until_it_is_written(phone):
    """The next page is left, too, before the disk has taken anything."""
    log(phone, phone.page)
    phone.tap("made")
    busy = busy_disk(phone)
    phone.page.evaluate(TAP, ["made", 2])
    for _ in range(3):
        phone.page.reload(wait_until="commit")
        phone.page.wait_for_timeout(300)
        wait_for(lambda: len(notes(busy)) == 1)
    busy.evaluate("window.isOver = true")
    counts(phone.page, "3 of 3")
    wait_for(lambda: notes(phone.page) == [])
    assert sent(phone) == [(3, 3)]


def test_a_page_that_is_only_put_aside_counts_nothing_twice(phone):
    """It writes its taps itself, whether or not another page has written what it left."""
    log(phone, phone.page)
    phone.tap("made")
    busy = busy_disk(phone)
    phone.page.evaluate(TAP, ["made", 2])
    phone.page.evaluate(HIDE, True)
    left = json.loads(phone.page.evaluate(f"localStorage[{NOTES}[0]]"))
    assert len(left) == 2
    second = phone.context.new_page()
    second.goto(f"{phone.address}/workouts/of/{phone.cast.kid.pk}/log/?drill=spots")
    busy.evaluate("window.isOver = true")
    counts(second, "3 of 3")
    wait_for(lambda: notes(second) == [])
    phone.page.evaluate(HIDE, False)
    counts(phone.page, "3 of 3")
    # Nor does the same once more, however late.
    second.evaluate(
        "([key, text]) => { localStorage[key] = text; }",
        [f"unwritten:{phone.cast.player.pk}:{left[0]['page']}", json.dumps(left)],
    )
    second.reload()
    counts(second, "3 of 3")
    wait_for(lambda: notes(second) == [])
    assert sent(phone) == [(3, 3)]


def test_nothing_of_it_is_shown_to_another_person_or_sent_by_him(phone):
    log(phone, phone.page)
    phone.page.evaluate(BUSY)
    phone.page.evaluate(TAP, ["made", 4])
    phone.page.goto("about:blank")
    sign_in(phone, phone.cast.teammate)
    asked = []
    phone.context.unroute_all()
    phone.context.on("request", lambda one: "/workouts/" in one.url and asked.append(one.method))
    phone.page.goto(f"{phone.address}/today/")
    phone.page.wait_for_load_state("networkidle")
    expect(phone.page.locator("unsent-line")).to_be_hidden()
    phone.page.goto(f"{phone.address}/workouts/of/{phone.cast.mate.pk}/log/?drill=spots")
    counts(phone.page, "–")
    assert "PUT" not in asked
    wait_for(lambda: len(notes(phone.page)) == 1)
    assert phone.page.evaluate(ROWS) == []
    assert Workout.objects.count() == 0
    sign_in(phone, phone.cast.player)
    log(phone, phone.page)
    counts(phone.page, "4 of 4")
    phone.says("Saved.")
    assert Workout.objects.get().player == phone.cast.kid


def test_who_signs_out_at_once_has_them_when_he_is_back(phone):
    log(phone, phone.page)
    phone.page.evaluate(BUSY)
    phone.page.evaluate(TAP, ["made", 3])
    phone.page.evaluate("document.querySelector('.who form').requestSubmit()")
    phone.page.wait_for_url("**/accounts/**")
    phone.page.wait_for_load_state("networkidle")
    wait_for(lambda: len(notes(phone.page)) == 1)
    assert phone.page.locator("unsent-line").count() == 0
    sign_in(phone, phone.cast.player)
    phone.page.goto(f"{phone.address}/today/")
    expect(phone.page.locator("unsent-line")).to_contain_text("1 workout on this phone")
    wait_for(lambda: notes(phone.page) == [])
    assert sent(phone) == [(3, 3)]


LAID = """async (urls) => {
  const { laid } = await import(urls.rows);
  const random = (seed) => () => { seed = (seed * 16807) % 2147483647; return seed / 2147483647; };
  const wrong = [];
  for (let seed = 1; seed <= 300; seed += 1) {
    const chance = random(seed);
    const at = "2026-01-01T00:00:00Z";
    const facts = { minutes: null, effort: null, kind: "own", finished: false, pain: "", note: "" };
    let held = null;
    const puts = [];
    const pages = ["a", "b", "c"].map((page) => ({ page, turn: 0, base: 0, seen: null }));
    const begin = { id: "w", player: "p", sets: [], shots: [], started_at: at, touched_at: at };
    let tapped = 0;
    for (let step = 0; step < 40; step += 1) {
      const one = pages[Math.floor(chance() * 3)];
      if (chance() < 0.3 || (held && !one.seen)) {
        if (held) Object.assign(one, { base: held.version, seen: structuredClone(held.workout) });
      } else if (held || one === pages[0]) {
        const workout = structuredClone(one.seen ?? { ...begin, ...facts });
        workout.changed = true;
        if (!workout.sets.length) workout.sets.push({ id: "s", drill: "d", made: 0, tried: 0 });
        workout.sets[0].tried += 1;
        tapped += 1;
        one.turn += 1;
        const { page, turn, base, seen } = one;
        const put = structuredClone({ person: "x", workout, base, seen, page, turn });
        held = laid(held, put);
        puts.push(put);
        Object.assign(one, { base: base + 1, seen: structuredClone(workout) });
      }
      // One of an earlier page, once more.
      const again = puts[Math.floor(chance() * puts.length * 2.5)];
      if (again) held = laid(held, again);
    }
    const sum = held?.workout.sets[0]?.tried ?? 0;
    if (sum !== tapped) wrong.push([seed, tapped, sum]);
  }
  return wrong;
}"""


def test_whatever_is_laid_again_counts_once(phone):
    log(phone, phone.page)
    assert phone.page.evaluate(LAID, {"rows": "/static/workouts/rows.js"}) == []
