"""The plan of the next practice and the board in Chromium: edited by mouse and keyboard, kept in
the address, narrow, printed."""

import re
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.schedule.models import Event
from tests import cast as people
from tests import factories as make
from tests.progress.counting import count, film_goal
from tests.services import SWITCHES

pytestmark = [pytest.mark.e2e, pytest.mark.once]

PAGE = re.compile(rb"/Type\s*/Page[^s]")


@pytest.fixture
def club(transactional_db):
    """A squad whose closing out needs work, and its practice of an hour from 18:30."""
    cast = people.build()
    close, box = make.make_skill(name="Closing out"), make.make_skill(name="Boxing out")
    for days in (3, 10, 17):
        figures = {one: {close: (2, 8), box: (6, 8)} for one in (cast.kid, cast.mate)}
        count(cast.squad, cast.coach, [close, box], figures, days=days)
    film_goal(cast.kid, close, 0.7)
    make.make_pain(cast.mate)
    for skill, slug, name in (
        (close, "chairs", "Closeouts to a chair"),
        (close, "slides", "First slides"),
        (box, "wall", "Find, hit, hold"),
    ):
        make.make_drill(skill=skill, slug=slug, name=name, minutes=10, how="Low, and then lower.")
    start = timezone.now() + timedelta(days=2)
    Event.objects.create(
        squad=cast.squad, kind="practice", starts_at=start, ends_at=start + timedelta(hours=1)
    )
    return cast


@pytest.fixture
def page(club, live_server, chromium):
    from playwright.sync_api import sync_playwright

    client = Client()
    client.force_login(club.coach)
    cookie = {"name": settings.SESSION_COOKIE_NAME, "url": live_server.url}
    cookie["value"] = client.cookies[settings.SESSION_COOKIE_NAME].value
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=SWITCHES)
        context = browser.new_context(viewport={"width": 1280, "height": 800})
        context.add_cookies([cookie])
        opened = context.new_page()
        faults = []
        opened.on("pageerror", lambda error: faults.append(str(error)))
        opened.on("console", lambda line: line.type == "error" and faults.append(line.text))
        yield opened
        browser.close()
    assert faults == []


def go(page, live_server, route, squad, query=""):
    page.goto(live_server.url + reverse(f"progress:{route}", args=[squad.pk]) + query)
    page.wait_for_load_state("load")


def plan_in(page):
    asked = parse_qs(urlsplit(page.url).query, keep_blank_values=True)
    return asked.get("plan", [None])[0]


def shown(page):
    return page.eval_on_selector_all(
        ".plan-item", "rows => rows.map((row) => `${row.dataset.key}:${row.dataset.minutes}`)"
    )


def item(page, key):
    return page.locator(f'.plan-item[data-key="{key}"]')


def test_a_plan_is_edited_undone_and_kept_in_its_address(page, club, live_server):
    go(page, live_server, "next", club.squad)
    assert shown(page) == ["chairs:10", "wall:10", "slides:10"]
    assert plan_in(page) is None
    item(page, "chairs").get_by_role("button", name="One minute more").click()
    item(page, "wall").get_by_role("button", name="Later").click()
    assert plan_in(page) == "chairs:11,slides:10,wall:10"
    field = item(page, "slides").get_by_role("spinbutton", name="Minutes")
    field.fill("25")
    field.press("Tab")
    assert "46 of 60 minutes planned, 14 left free." in page.inner_text("[data-summed]")
    item(page, "chairs").get_by_role("button", name="Take out").click()
    page.get_by_label("Drill", exact=True).select_option("chairs")
    page.get_by_role("button", name="Add it").click()
    assert shown(page) == ["slides:25", "wall:10", "chairs:10"]
    assert page.inner_text("[data-said]") == "Closeouts to a chair is added at the end."
    page.reload()
    assert shown(page) == ["slides:25", "wall:10", "chairs:10"]
    item(page, "wall").get_by_role("button", name="Take out").click()
    page.get_by_role("button", name="Undo").click()
    assert shown(page) == ["slides:25", "wall:10", "chairs:10"]
    assert plan_in(page) == "slides:25,wall:10,chairs:10"


def test_undo_outlives_a_reload_another_target_and_a_plan_made_afresh(page, club, live_server):
    undo = page.get_by_role("button", name="Undo")
    go(page, live_server, "next", club.squad)
    assert undo.is_disabled()
    item(page, "wall").get_by_role("button", name="Take out").click()
    item(page, "chairs").get_by_role("button", name="One minute more").click()
    page.reload()
    undo.click()
    assert shown(page) == ["chairs:10", "slides:10"]
    page.get_by_label("Target in percent").fill("95")
    with page.expect_navigation():
        page.get_by_role("button", name="Use it").click()
    with page.expect_navigation():
        page.get_by_role("link", name="Plan afresh").click()
    assert shown(page) == ["chairs:10", "wall:10", "slides:10"]
    undo.click()
    assert shown(page) == ["chairs:10", "slides:10"]
    undo.click()
    assert shown(page) == ["chairs:10", "wall:10", "slides:10"]
    assert undo.is_disabled()
    go(page, live_server, "next", club.squad, "?plan=wall:10")
    assert undo.is_disabled(), "another plan was opened"


def test_skills_come_before_the_drills_and_the_keyboard_goes_the_same_way(page, club, live_server):
    for width in (320, 1280):
        page.set_viewport_size({"width": width, "height": 700})
        go(page, live_server, "next", club.squad)
        tops = page.evaluate(
            "['needs-head', 'plan-head'].map("
            "(id) => document.getElementById(id).getBoundingClientRect().top)"
        )
        assert tops == sorted(tops)
        jump = page.get_by_role("link", name="Minutes", exact=True)
        assert jump.is_visible() == (width == 320)


def test_the_keyboard_alone_plans_a_practice(page, club, live_server):
    go(page, live_server, "next", club.squad)
    item(page, "slides").get_by_role("button", name="Earlier").focus()
    page.keyboard.press("Enter")
    assert shown(page) == ["chairs:10", "slides:10", "wall:10"]
    assert page.evaluate("document.activeElement.closest('.plan-item').dataset.key") == "slides"
    assert "First slides is number 2 now." in page.inner_text("[data-said]")
    item(page, "slides").get_by_role("button", name="Take out").focus()
    page.keyboard.press("Space")
    assert page.evaluate("document.activeElement.closest('.plan-item').dataset.key") == "wall"


def test_another_target_leaves_the_plan_as_it_was_edited(page, club, live_server):
    go(page, live_server, "next", club.squad)
    item(page, "wall").get_by_role("button", name="Take out").click()
    page.get_by_label("Target in percent").fill("95")
    with page.expect_navigation():
        page.get_by_role("button", name="Use it").click()
    assert "target=95" in page.url
    assert shown(page) == ["chairs:10", "slides:10"]


def test_the_times_in_the_margin_follow_the_minutes(page, club, live_server):
    go(page, live_server, "next", club.squad, "?plan=chairs:10,wall:10")
    served = page.evaluate("document.querySelectorAll('[data-at]')[1].textContent")
    item(page, "chairs").get_by_role("button", name="One minute more").click()
    moved = page.evaluate("document.querySelectorAll('[data-at]')[1].textContent")
    hour, minute = map(int, served.split(":"))
    later = (hour * 60 + minute + 1) % 1440
    assert moved == f"{later // 60:02}:{later % 60:02}"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_practice_is_one_page_of_paper(page, club, live_server, paper):
    text = ",".join(f"{key}:8" for key in ["chairs", "slides", "wall"] * 3)
    go(page, live_server, "next", club.squad, f"?plan={text}")
    assert len(PAGE.findall(page.pdf(format=paper))) == 1
    go(page, live_server, "board", club.squad)
    assert len(PAGE.findall(page.pdf(format=paper))) == 1


def test_on_paper_nobody_is_named_who_hurts(page, club, live_server):
    go(page, live_server, "next", club.squad)
    shown, paper = page.locator(".hurts"), page.locator(".on-paper")
    assert "ankle" in shown.inner_text()
    assert not paper.is_visible()
    page.emulate_media(media="print")
    assert not shown.is_visible()
    assert paper.is_visible()
    assert "ankle" not in page.inner_text("main")


def test_what_is_not_done_as_asked_is_said(page, club, live_server):
    go(page, live_server, "next", club.squad, "?plan=chairs:10,wall:10")
    field = item(page, "chairs").get_by_role("spinbutton", name="Minutes")
    for typed, taken in (("99999", 180), ("-5", 1), ("", 1)):
        field.fill(typed)
        field.press("Tab")
        told = f"One drill takes 1 to 180 minutes; it has {taken} now."
        assert told in item(page, "chairs").inner_text()
        assert shown(page) == [f"chairs:{taken}", "wall:10"]
    page.get_by_label("Drill", exact=True).select_option("wall")
    add = page.get_by_role("button", name="Add it")
    add.click()
    told = "Find, hit, hold is in the plan already, as number 2."
    assert told in page.inner_text(".plan-note")
    assert shown(page) == ["chairs:1", "wall:10"]
    add.click()
    assert shown(page) == ["chairs:1", "wall:10", "wall:10"]
    assert page.locator(".plan-note").count() == 0
    for _ in range(3):
        page.get_by_role("button", name="Take out").first.click()
    assert not page.get_by_role("button", name="Print").is_visible()


def test_narrow_screens_show_one_player_at_a_time(page, club, live_server):
    page.set_viewport_size({"width": 320, "height": 700})
    go(page, live_server, "board", club.squad)
    heads = page.locator("thead th[data-place]:visible")
    assert heads.count() == 1
    assert "Runa Lindqvist" in heads.inner_text()
    page.get_by_label("Player", exact=True).select_option(label="12 Ines Okafor")
    assert "Ines Okafor" in heads.inner_text()
    assert page.locator("tbody td:visible").count() == 2
    page.set_viewport_size({"width": 1280, "height": 800})
    assert heads.count() == 3


@pytest.mark.soak
def test_both_pages_are_clean_and_never_wider_than_a_narrow_phone(page, club, live_server):
    axe, found = Axe(), []
    for route in ("board", "next"):
        for scheme in ("light", "dark"):
            for width in (320, 1280):
                page.emulate_media(color_scheme=scheme)
                page.set_viewport_size({"width": width, "height": 800})
                go(page, live_server, route, club.squad)
                for fault in axe.run(page).response["violations"]:
                    if fault["impact"] in {"serious", "critical"}:
                        found.append((route, scheme, width, fault["id"], fault["nodes"][0]["html"]))
                wide = page.evaluate("document.documentElement.scrollWidth")
                assert wide <= width, (route, wide)
    assert found == []
