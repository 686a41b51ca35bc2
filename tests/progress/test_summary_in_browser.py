"""The summary and the director's page in Chromium: full ones and empty ones, narrow, on paper and
at night, and printed on both sizes of paper."""

import re
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests import cast as people
from tests import factories as make
from tests.progress.test_pages import make_goal, make_review

pytestmark = [pytest.mark.e2e, pytest.mark.once]

PAGE = re.compile(rb"/Type\s*/Page[^s]")
# The width between the margins of print.css, in CSS pixels.
SHEETS = {"A4": 688, "Letter": 710}
OUTSIDE = """
() => [...document.querySelectorAll("main *")].filter((one) => {
  const box = one.getBoundingClientRect();
  const seen = one.checkVisibility({ visibilityProperty: true }) && box.width > 1;
  return seen && !one.closest(".visually-hidden") && (box.right > innerWidth + 1 || box.left < -1);
}).map((one) => `${one.tagName} ${one.textContent.trim().slice(0, 40)}`)
"""
INK = "() => getComputedStyle(document.body).color"
GROUNDS = """
() => [document.body, document.documentElement].map((one) => getComputedStyle(one).backgroundColor)
"""
PAPER = {"rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"}


@pytest.fixture
def club(transactional_db):
    """Three goals of one player, one reviewed five times, eight weeks of work, comments."""
    cast = people.build()
    names = ("Wall finishes", "Form shooting", "Closeouts to a chair")
    goals = [make_goal(cast.kid, make.make_drill(name=name)) for name in names]
    for number in range(1, 6):
        make_review(goals[0], number)
    for back in range(8):
        make.make_workout(
            cast.kid,
            started_at=timezone.now() - timedelta(weeks=back, hours=2),
            kind="organised" if back % 2 else "own",
            minutes=90,
            sets=[{"drill": goal.drill, "made": 14, "tried": 20} for goal in goals],
        )
    film = make.make_film(cast.squad)
    for _one in range(6):
        said = "The corner defender helps; the pass leaves at once and the shooter is ready."
        comment = make.make_comment(film, cast.coach, [cast.kid], happened=said)
        make.make_delivery(comment, cast.kid)
    for number in range(10):
        squad = make.make_squad(season=cast.season, name=f"A squad with a long name {number}")
        make.make_film(squad, title=f"Game {number}")
        for shirt in range(9):
            make.make_player(squad=squad, number=str(shirt), born_on=None)
    return cast


@pytest.fixture
def opened(browser, live_server):
    def open_for(user, path):
        client = Client()
        client.force_login(user)
        value = client.cookies[settings.SESSION_COOKIE_NAME].value
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        context.add_cookies(
            [{"name": settings.SESSION_COOKIE_NAME, "value": value, "url": live_server.url}]
        )
        page = context.new_page()
        page.goto(live_server.url + path)
        return page

    return open_for


def paths(club):
    return {
        "summary": (club.guardian, reverse("progress:player", args=[club.kid.pk])),
        "own": (club.player, reverse("progress:player", args=[club.kid.pk])),
        "empty": (club.coach, reverse("progress:player", args=[club.mate.pk])),
        "club": (club.director, reverse("progress:club")),
    }


def test_axe_finds_nothing_and_nothing_is_too_wide(club, opened):
    director, empty = make.make_user("Dana"), make.make_club()
    make.make_member(director, "director", club=empty)
    looked_at = {**paths(club), "no squad": (director, reverse("progress:club"))}
    for name, (user, path) in looked_at.items():
        page = opened(user, path)
        for element in page.locator("main details > summary").all():
            element.click()
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            faults = Axe().run(page, options={"iframes": False}).response["violations"]
            assert [fault["id"] for fault in faults] == [], (name, scheme)
        for width in (390, 320):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") == width, name


@pytest.mark.parametrize(("name", "most"), [("summary", 3), ("club", 6)])
def test_it_prints_clean_on_both_sizes(club, opened, name, most):
    user, path = paths(club)[name]
    page = opened(user, path)
    page.emulate_media(media="print", color_scheme="dark")
    for sheet, width in SHEETS.items():
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(OUTSIDE) == [], sheet
        pages = len(PAGE.findall(page.pdf(format=sheet)))
        print(f"{name} on {sheet}: {pages} pages")
        assert 1 <= pages <= most
    assert page.evaluate(INK) == "rgb(0, 0, 0)"
    assert set(page.evaluate(GROUNDS)) <= PAPER
    for gone in ("nav", "button", "form", ".to-file", ".page-head .links", ".masthead"):
        assert all(not one.is_visible() for one in page.locator(gone).all()), gone
    rows = page.locator("main .figure-row, main tbody tr, main .rows > *").all()
    kept = [one.evaluate("one => getComputedStyle(one).breakInside") for one in rows]
    assert set(kept) == {"avoid"}


def test_the_printed_summary_holds_goals_and_reviews(club, opened):
    user, path = paths(club)["summary"]
    page = opened(user, path)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": SHEETS["A4"], "height": 900})
    words = page.locator("main").inner_text()
    for expected in (
        "Wall finishes", "Form shooting", "Closeouts to a chair", "was 5 of 10", "What it takes",
        "had improved", "never counted as a rate", "not medical advice",
    ):  # fmt: skip
        assert expected in words, expected
    review = page.get_by_text("Between 2 and 27 points better.").first
    box = review.bounding_box()
    assert box
    assert box["height"] > 10
