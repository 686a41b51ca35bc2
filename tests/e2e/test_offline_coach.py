"""What a coach marks while nobody or somebody else is signed in: kept, and sent as his."""

import os

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import expect

from devplans.film.models import Possession
from devplans.tallies import services
from devplans.tallies.models import TallyMark
from tests import cast as people
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.test_film_page import ready_film, sign_in
from tests.film import films
from tests.served import wait_for

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
BACK = "document.dispatchEvent(new Event('visibilitychange'))"


@pytest.fixture
def cast(transactional_db):
    built = people.build()
    # Somebody who could send it all in his own name.
    make.make_member(built.other_coach, "coach", club=built.club, squad=built.squad)
    return built


@pytest.fixture
def film(cast, tmp_path):
    kind = next(kind for kind in films.kinds() if kind.name == "steady")
    return ready_film(cast.squad, films.write(tmp_path, kind))


@pytest.fixture
def page(browser, live_server, cast, monkeypatch):
    # Playwright's own loop makes Django take this thread for an asynchronous one.
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    sign_in(page, cast.coach, live_server.url)
    yield page
    assert faults == []
    context.close()


def sign_out(page):
    page.context.clear_cookies(name=settings.SESSION_COOKIE_NAME)


def come_back(page, user, address):
    """Signed in on another tab, then back to this one."""
    sign_in(page, user, address)
    page.evaluate(BACK)


def test_chances_counted_while_signed_out_are_sent_by_their_coach(page, cast, film, live_server):
    tally = services.start_tally(
        actor=cast.coach, film=film, skills=[make.make_skill()], players=[cast.kid]
    )
    page.goto(reverse("tallies:tally", args=[tally.pk]))
    page.wait_for_selector("tally-count[data-ready]")
    told = page.locator("[data-part=sending]")
    sign_out(page)
    page.keyboard.press("d")
    page.keyboard.press("n")
    expect(told).to_contain_text("Not sent yet: you are signed out.")
    come_back(page, cast.other_coach, live_server.url)
    expect(told).to_contain_text("Not sent yet: you are signed out.")
    assert TallyMark.objects.count() == 0
    come_back(page, cast.coach, live_server.url)
    expect(told).to_contain_text("Everything is sent.")
    assert list(TallyMark.objects.of_tally(tally).values_list("did_it", flat=True)) == [True, False]


def test_possessions_marked_while_signed_out_are_neither_dropped_nor_sent_as_anothers(
    page, cast, film, live_server
):
    gone = make.make_possession(film, 500, 900)
    page.goto(reverse("film:detail", args=[film.pk]))
    page.wait_for_selector("film-player[data-ready]")
    waits = page.locator(".possession-saving")
    sign_out(page)
    page.evaluate("document.querySelector('film-player').seek(600)")
    page.keyboard.press("Delete")
    page.evaluate("document.querySelector('film-player').seek(1500)")
    page.keyboard.press("p")
    expect(waits).to_contain_text("You are signed out: 2 not saved yet.")
    come_back(page, cast.other_coach, live_server.url)
    expect(waits).to_contain_text("You are signed out: 2 not saved yet.")
    assert list(Possession.objects.all()) == [gone]
    # The next page has them, too.
    come_back(page, cast.coach, live_server.url)
    wait_for(lambda: list(Possession.objects.values_list("start_ms", flat=True)) == [1500])
    expect(waits).to_have_text("")
    page.reload()
    page.wait_for_selector("film-player[data-ready]")
    expect(page.locator(".film-stroke")).to_have_count(1)


def test_a_clock_mark_while_signed_out_says_so(page, cast, film, live_server):
    page.goto(reverse("film:detail", args=[film.pk]))
    page.wait_for_selector("film-player[data-ready]")
    sign_out(page)
    page.keyboard.press("h")
    expect(page.locator("#clock-shown")).to_be_focused()
    page.keyboard.type("9:50")
    page.keyboard.press("Enter")
    expect(page.locator(".clock-said")).to_contain_text("You are signed out:")
    assert not film.clock_marks.exists()
    come_back(page, cast.coach, live_server.url)
    wait_for(lambda: film.clock_marks.count() == 1)
