"""Counting chances in a real browser, with nothing but the keyboard, and losing none of them."""

import os
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from devplans.tallies import services
from devplans.tallies.models import TallyMark
from tests import cast as people
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.test_film_page import ready_film, sign_in
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.django_db(transaction=True)]
CUT = "ERR_INTERNET_DISCONNECTED"
MARKS = re.compile(r"/marks/$")


@pytest.fixture
def cast(transactional_db):
    return people.build()


@pytest.fixture
def page(browser, live_server, monkeypatch):
    # Playwright's own loop makes Django take this thread for an asynchronous one.
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults = []
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    assert [fault for fault in faults if CUT not in fault] == []
    context.close()


@pytest.fixture
def film(cast, tmp_path):
    kind = next(kind for kind in films.kinds() if kind.name == "steady")
    return ready_film(cast.squad, films.write(tmp_path, kind))


@pytest.fixture
def counting(page, cast, film, live_server):
    """Opens the page of a count that has begun, with the focus nowhere."""

    def opened(**more):
        skills = [make.make_skill(name="Closeouts"), make.make_skill(name="Containing")]
        tally = services.start_tally(
            actor=cast.coach, film=film, **({"skills": skills, "players": []} | more)
        )
        sign_in(page, cast.coach, live_server.url)
        page.goto(reverse("tallies:tally", args=[tally.pk]))
        ready(page)
        return tally

    return opened


def ready(page):
    page.wait_for_selector("tally-count[data-ready]")
    page.wait_for_selector("film-player[data-ready]")


def count(page, numbers, *, since=0):
    """One chance for each number, every third of them not yet; the film goes on a frame."""
    for at, number in enumerate(numbers, start=since):
        page.keyboard.press(".")
        page.keyboard.type(number)
        page.keyboard.press("n" if at % 3 == 2 else "d")


def on_page(page):
    return page.locator("[data-part=rows] > li")


def kept(tally):
    return TallyMark.objects.of_tally(tally).count()


def told(page, words):
    expect(page.locator("[data-part=sending]")).to_contain_text(words)


def test_thirty_chances_by_keyboard_a_reload_and_a_cut_lose_none(page, cast, counting):
    tally = counting()
    numbers = ["12", "7", "31"] * 10
    count(page, numbers[:10])
    expect(on_page(page)).to_have_count(10)
    told(page, "Everything is sent.")
    # The page comes, the marks do not go: what was pressed before the reload waits here.
    page.route(MARKS, lambda route: route.abort("internetdisconnected"))
    count(page, numbers[10:16], since=10)
    told(page, "not sent yet")
    page.reload()
    ready(page)
    told(page, "not sent yet")
    expect(on_page(page)).to_have_count(16)
    assert kept(tally) == 10
    page.unroute(MARKS)
    page.get_by_role("button", name="Try now").click()
    told(page, "Everything is sent.")
    assert kept(tally) == 16
    page.locator("h1").click()
    page.keyboard.press("i")
    count(page, numbers[16:22], since=16)
    page.context.set_offline(True)
    count(page, numbers[22:], since=22)
    told(page, "not sent yet")
    page.context.set_offline(False)
    told(page, "Everything is sent.")
    assert kept(tally) == 30
    expect(on_page(page)).to_have_count(30)
    marks = TallyMark.objects.of_tally(tally)
    by_number = {"12": cast.kid, "7": cast.mate, "31": cast.adult}
    for number, player in by_number.items():
        assert marks.filter(player=player).count() == numbers.count(number)
    assert marks.filter(did_it=False).count() == 10
    assert marks.filter(skill__name="Closeouts").count() == 16
    page.keyboard.press("x")
    page.keyboard.press("x")
    expect(on_page(page)).to_have_count(28)
    told(page, "Everything is sent.")
    assert kept(tally) == 28
    page.reload()
    ready(page)
    expect(on_page(page)).to_have_count(28)
    assert page.evaluate("Object.keys(localStorage).filter((k) => k.startsWith('tally:'))") == []


def test_a_wrong_number_marks_nobody_and_says_so(page, counting):
    tally = counting()
    page.keyboard.type("99")
    page.keyboard.press("d")
    expect(page.locator("[data-part=said]")).to_contain_text("99")
    page.keyboard.press("d")
    expect(on_page(page)).to_have_count(0)
    page.keyboard.type("12")
    expect(page.locator("[data-part=who]")).to_have_text("Ines Okafor")
    expect(page.locator("[data-part=said]")).to_be_empty()
    page.keyboard.press("n")
    expect(on_page(page)).to_have_count(1)
    told(page, "Everything is sent.")
    assert kept(tally) == 1


def test_one_player_and_one_skill_take_one_key(page, cast, counting):
    tally = counting(players=[cast.kid], skills=[make.make_skill()])
    for key in "ddnd":
        page.keyboard.press(key)
    expect(on_page(page)).to_have_count(4)
    told(page, "Everything is sent.")
    assert kept(tally) == 4


def test_no_two_keys_of_the_page_are_the_same(page, counting):
    counting()
    page.keyboard.press("?")
    keys = page.locator("dialog.film-keys [data-action]").all_inner_texts()
    assert len(keys) > 10
    assert len(set(keys)) == len(keys)


def test_the_drawn_possessions_are_played_one_after_the_other_and_closed(
    page, cast, film, counting
):
    step = film.duration_ms // 10
    for at in range(10):
        film.possessions.create(side="ours", start_ms=at * step, end_ms=at * step + step // 2)
    tally = counting(scope="sample", drawn=5, players=[cast.kid])
    drawn = sorted(tally.possessions.filter(place__lt=5).values_list("start_ms", flat=True))
    seen = page.evaluate("document.querySelector('film-player').currentMs()")
    assert seen <= drawn[0]
    expect(page.locator("[data-part=left]")).to_contain_text("5 not played yet")
    page.keyboard.press("d")
    page.keyboard.press("Space")
    expect(page.locator("[data-part=left]")).to_have_text("all played", timeout=60_000)
    expect(page.locator("[data-part=sending]")).to_contain_text("Everything is sent.")
    with page.expect_navigation():
        page.get_by_role("button", name="Close the count").click()
    expect(page.locator("main")).to_contain_text("A full count of this film would lie between")
    tally.refresh_from_db()
    assert tally.closed_at
    assert not tally.possessions.filter(place__lt=5, seen_at=None).exists()


def test_closing_waits_for_marks_that_are_not_sent(page, counting):
    tally = counting()
    page.route(MARKS, lambda route: route.abort("internetdisconnected"))
    count(page, ["12"])
    told(page, "not sent yet")
    page.locator("[name=sure]").check()
    page.get_by_role("button", name="Close the count").click()
    expect(page.locator("[data-part=said]")).to_contain_text("Not sent yet")
    tally.refresh_from_db()
    assert tally.closed_at is None
    page.unroute(MARKS)
    page.get_by_role("button", name="Try now").click()
    told(page, "Everything is sent.")
    with page.expect_navigation():
        page.get_by_role("button", name="Close the count").click()
    tally.refresh_from_db()
    assert tally.closed_at
