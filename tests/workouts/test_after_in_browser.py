"""Who was there, how hard it was, what hurts, hours: on a phone in Chromium."""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from devplans.workouts.models import Attendance, Workout
from tests import cast as people
from tests import factories as make
from tests.workouts.handset import SIDEWAYS, Phone, faults_of
from tests.workouts.known import aged, last_week, noon
from tests.workouts.known import elsewhere_url as elsewhere_path
from tests.workouts.shooting import log_shots

pytestmark = [pytest.mark.e2e, pytest.mark.once]

# Everything that is tapped, but not a word inside a sentence.
SMALL = """() => [...document.querySelectorAll("main :is(button, label.pick, .button, summary)")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.getBoundingClientRect(), one.outerHTML.slice(0, 90)])
  .filter(([box]) => Math.round(box.width) < 48 || Math.round(box.height) < 48)
  .map(([box, words]) => `${box.width} x ${box.height} ${words}`)"""

WIDE = """[...document.querySelectorAll("main *")]
  .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth)
  .map((one) => one.outerHTML.slice(0, 80)).slice(0, 4)"""


@pytest.fixture
def opened(transactional_db, live_server, browser):
    cast = people.build()
    phones = []

    def open_for(user, **options):
        phones.append(Phone(browser, live_server.url, cast, user=getattr(cast, user), **options))
        return phones[-1]

    open_for.cast = cast
    yield open_for
    faults = [fault for phone in phones for fault in phone.faults]
    for phone in phones:
        phone.context.close()
    assert faults == []


def sizes(phone, standard):
    """The letters that the browser is set to; what the page measures in them follows."""
    session = phone.context.new_cdp_session(phone.page)
    fonts = {"standard": standard, "fixed": standard - 3}
    session.send("Page.setFontSizes", {"fontSizes": fonts})
    session.detach()


def test_a_coach_ticks_a_squad_with_his_thumb(opened):
    event = make.make_event(opened.cast.squad)
    coach = opened("coach")
    page = coach.page
    page.goto(f"{coach.address}/workouts/dates/{event.pk}/who/")
    said = page.get_by_role("status").filter(has_text="present,")
    page.get_by_role("button", name="All present").tap()
    expect(said).to_have_text("3 present, 0 excused, 0 absent, 0 not marked")
    page.get_by_role("group", name="Ines Okafor").get_by_role("button", name="excused").tap()
    expect(said).to_have_text("2 present, 1 excused, 0 absent, 0 not marked")
    excused = page.get_by_role("group", name="Ines Okafor").get_by_role("button", name="excused")
    expect(excused).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="undo").tap()
    expect(said).to_have_text("3 present, 0 excused, 0 absent, 0 not marked")
    excused.focus()
    page.keyboard.press("Enter")
    expect(said).to_have_text("2 present, 1 excused, 0 absent, 0 not marked")
    expect(excused).to_be_focused()
    page.keyboard.press("Enter")
    expect(said).to_have_text("2 present, 0 excused, 0 absent, 1 not marked")
    assert Attendance.objects.filter(event=event, state="present").count() == 2


def test_one_tap_says_how_hard_it_was(opened):
    counted = make.make_workout(opened.cast.kid, effort=None, logged_by=opened.cast.coach)
    player = opened("player")
    player.page.goto(f"{player.address}/today/")
    player.page.get_by_role("button", name="7 tough").tap()
    expect(player.page.get_by_text("Noted: 7, tough.")).to_be_visible()
    assert Workout.objects.get(pk=counted.pk).load == 280


def test_pages_after_a_workout_fit_small_phones_and_large_letters(opened):
    """axe, 320 px, 200 % text, and targets of 48 px."""
    cast = opened.cast
    aged(cast.kid, 12)
    event = make.make_event(cast.squad, starts_at=noon(1), ends_at=noon(1) + timedelta(hours=2))
    make.make_workout(cast.kid, started_at=noon(2), minutes=700, kind="organised")
    log_shots(cast.kid, [(0, 7_000, True), (-7_050, 0, False), (300, 600, True)] * 10)
    pain = make.make_pain(cast.kid)
    counted = make.make_workout(cast.kid, effort=None, logged_by=cast.coach)
    drill = make.make_drill(slug="spots", name="Five spots", counts="makes", default_per_set=10)
    several = "&".join(f"player={one.pk}" for one in (cast.kid, cast.mate, cast.adult))
    group = f"/workouts/squads/{cast.squad.pk}/log/?{several}"
    pages = [
        ("coach", f"/workouts/dates/{event.pk}/who/"),
        ("coach", f"/workouts/squads/{cast.squad.pk}/hours/"),
        ("coach", f"/workouts/squads/{cast.squad.pk}/log/"),
        ("coach", f"{group}&drill={drill.slug}"),
        ("coach", f"/workouts/of/{cast.kid.pk}/shots/"),
        ("coach", f"/workouts/of/{cast.mate.pk}/shots/"),
        ("player", "/today/"),
        ("player", f"/workouts/{counted.pk}/how-hard/"),
        ("player", f"/workouts/of/{cast.kid.pk}/"),
        ("guardian", f"/workouts/answers/{pain.pk}/"),
        ("guardian", elsewhere_path(cast.kid, last_week())),
        ("guardian", "/family/"),
    ]
    phones = {
        user: opened(user, viewport={"width": 320, "height": 640})
        for user in ("coach", "player", "guardian")
    }
    found = []
    for user, path in pages:
        phone = phones[user]
        phone.page.emulate_media(color_scheme="light")
        sizes(phone, 16)
        phone.page.goto(phone.address + path)
        found += faults_of(phone, path)
        found += [f"{path}: {small}" for small in phone.page.evaluate(SMALL)]
        if phone.page.evaluate(SIDEWAYS):
            found.append(f"{path}: wider than 320 px")
        sizes(phone, 32)
        assert phone.page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
        if phone.page.evaluate(SIDEWAYS):
            found.append(f"{path}: wider with large letters: {phone.page.evaluate(WIDE)}")
    assert found == []
