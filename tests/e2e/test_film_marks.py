"""The film page as a work place: possessions and the game clock by keyboard, and 400 comments."""

import gzip
import json
import re

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from playwright.sync_api import expect

from devplans.feedback.models import Comment
from devplans.film.models import ClockMark, Possession
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.steps import until
from tests.e2e.test_film_page import cast, no_async_guard, ready_film, sign_in
from tests.film import films
from tests.served import wait_for

__all__ = ["cast", "no_async_guard"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
HOUR_MS = 3_600_000
MOST_MS = 100
A_WHILE_MS = 60_000
# From the key to the second frame after it: by then the page has painted what the key did.
PRESS = """async (key) => {
  const began = performance.now();
  document.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  await new Promise((done) => requestAnimationFrame(() => { setTimeout(done); }));
  return performance.now() - began;
}"""


@pytest.fixture
def page(browser, live_server, no_async_guard):
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    page.set_default_timeout(20_000)
    faults = page.faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    assert page.faults == []
    context.close()


@pytest.fixture
def long_film(page, cast, live_server, tmp_path):
    """An hour by its frames and marks; what is seen of it are the same five seconds."""
    kind = next(kind for kind in films.kinds() if kind.name == "steady")
    film = ready_film(cast.squad, films.write(tmp_path, kind))
    steps = gzip.compress(json.dumps([40] * (HOUR_MS // 40 - 1)).encode())
    film.frames_key = default_storage.save(f"films/{film.pk}/hour.json.gz", ContentFile(steps))
    film.duration_ms = HOUR_MS
    film.save(update_fields=["frames_key", "duration_ms"])
    sign_in(page, cast.coach, live_server.url)
    return film


def opened(page, film, *, plays=False):
    """Five seconds of picture cannot stand for an hour: only where it plays it is shown."""
    if not plays:
        page.route("**/play/", lambda route: route.abort())
    page.goto(reverse("film:detail", args=[film.pk]))
    page.wait_for_selector("film-player[data-ready]")
    page.wait_for_selector("comment-list")
    page.wait_for_selector("comment-form [name=start_ms]")


def player(page):
    return page.locator("film-player").element_handle()


def seek(page, ms):
    player(page).evaluate("(player, ms) => player.seek(ms)", ms)


def now(page):
    return player(page).evaluate("player => player.currentMs()")


def rows(film):
    found = Possession.objects.of_film(film).order_by("start_ms")
    return list(found.values_list("side", "start_ms", "end_ms"))


def saved(page):
    element = page.locator("film-possessions")
    expect(element).to_have_attribute("data-saving", "saved", timeout=A_WHILE_MS)


def test_twenty_possessions_by_keyboard_stay(page, long_film):
    film = long_film
    opened(page, film)
    for number in range(20):
        seek(page, 10_000 + number * 20_000)
        page.keyboard.press("p")
        if number == 9:
            seek(page, 10_000 + number * 20_000 + 12_000)
            page.keyboard.press("i")
    saved(page)
    found = rows(film)
    assert [side for side, *_ in found] == ["ours", "theirs"] * 10
    assert [start for _, start, _ in found] == [10_000 + k * 20_000 for k in range(20)]
    ends = [10_000 + k * 20_000 for k in range(1, 20)] + [None]
    ends[9] = 202_000
    assert [end for *_, end in found] == ends
    page.keyboard.press("o")
    expect(page.locator(".film-where")).to_have_text("possession 20 of 20, our ball")
    page.keyboard.press("u")
    expect(page.locator(".film-where")).to_have_text("possession 20 of 20, their ball")
    page.keyboard.press("Delete")
    page.keyboard.press("u")
    saved(page)
    page.reload()
    opened(page, film)
    assert rows(film) == found
    seek(page, 35_000)
    expect(page.locator(".film-where")).to_have_text("possession 2 of 20, their ball")
    expect(page.locator(".film-stroke")).to_have_count(20)
    for key, ms in [("]", 50_000), ("]", 70_000), ("[", 50_000), ("[", 30_000)]:
        page.keyboard.press(key)
        wait_for(lambda ms=ms: now(page) == ms)
    page.locator("film-possessions").evaluate("e => e.setAttribute('only-side', 'ours')")
    page.keyboard.press("]")
    wait_for(lambda: now(page) == 50_000)
    page.keyboard.press("]")
    wait_for(lambda: now(page) == 90_000)


def test_a_possession_repeats_and_dead_time_is_skipped(page, long_film):
    film = long_film
    for start_ms, end_ms in [(1_000, 1_600), (3_000, 4_500)]:
        make.make_possession(film, start_ms, end_ms)
    opened(page, film, plays=True)
    until(page.locator("video").element_handle(), "video => video.readyState >= 2")
    page.evaluate(
        "window.times = []; document.addEventListener('film:time', e => times.push(e.detail.ms))"
    )
    seek(page, 1_200)
    page.keyboard.press("r")
    wait_for(
        lambda: page.evaluate("times.filter((ms, i) => i && ms < times[i - 1] - 200).length") >= 2
    )
    page.keyboard.press("r")
    page.keyboard.press("Space")
    seek(page, 1_000)
    page.evaluate("times.length = 0")
    page.keyboard.press("k")
    page.keyboard.press("Space")
    wait_for(lambda: page.evaluate("Math.max(...times)") > 3_200)
    seen = page.evaluate("times")
    # Time is told ten times a second: that long a piece of dead time may be seen.
    assert not [ms for ms in seen if 1_900 < ms < 3_000], seen


def test_a_lost_connection_loses_nothing_and_a_refusal_says_why(page, long_film):
    film = long_film
    opened(page, film)
    page.context.set_offline(True)
    for ms in (5_000, 9_000):
        seek(page, ms)
        page.keyboard.press("p")
    expect(page.locator(".possession-saving")).to_contain_text("No connection")
    assert rows(film) == []
    page.context.set_offline(False)
    saved(page)
    assert rows(film) == [("ours", 5_000, 9_000), ("theirs", 9_000, None)]
    make.make_possession(film, 20_000, 30_000)
    seek(page, 25_000)
    page.keyboard.press("i")
    expect(page.locator(".possession-said")).to_contain_text("It would overlap the possession")
    expect(page.locator(".film-where")).to_have_text("possession 3 of 3, our ball")
    assert rows(film)[1:] == [("theirs", 9_000, None), ("ours", 20_000, 30_000)]


def test_the_clock_is_marked_and_gone_to(page, long_film):
    film = long_film
    opened(page, film)
    for ms, clock in [(60_000, "9:50"), (300_000, "8:20")]:
        seek(page, ms)
        page.keyboard.press("h")
        expect(page.locator("#clock-shown")).to_be_focused()
        page.keyboard.type(clock)
        page.keyboard.press("Enter")
        expect(page.locator(".clock-said")).to_have_text(f"Marked: Q1 {clock}.")
    expect(page.locator(".film-clock-now")).to_have_text("Q1 8:20")
    marks = list(ClockMark.objects.values_list("film_ms", "period", "clock_s"))
    assert marks == [(60_000, 1, 590), (300_000, 1, 500)]
    seek(page, 310_000)
    page.keyboard.press("h")
    page.keyboard.type("8:21")
    page.keyboard.press("Enter")
    expect(page.locator("#clock-problem")).to_contain_text("it never goes up")
    page.keyboard.press("Escape")
    page.keyboard.press("g")
    page.keyboard.type("Q1 9:00")
    page.keyboard.press("Enter")
    wait_for(lambda: now(page) == 110_000)
    said = page.locator(".clock-said")
    expect(said).to_have_text(re.compile("lies between 1:50.0 and 4:20.0: in these 150 s"))
    expect(page.locator(".film-clock-now")).to_have_text(re.compile("^~Q1 9:"))
    for wrong, words in [("Q1 10:01", "Q1 starts at 10:00"), ("soon", "as Q2 4:10")]:
        page.keyboard.press("g")
        page.keyboard.type(wrong)
        page.keyboard.press("Enter")
        expect(page.locator("#clock-place-problem")).to_contain_text(words)
        page.keyboard.press("Escape")
    page.keyboard.press("g")
    page.keyboard.type("50:12")
    page.keyboard.press("Enter")
    wait_for(lambda: now(page) == 3_012_000)


def test_two_actions_change_keys(page, long_film):
    opened(page, long_film)
    page.keyboard.press("?")
    page.get_by_role("button", name="Go to a time: G").click()
    page.keyboard.press("p")
    dialog = page.locator(".film-keys")
    expect(dialog).to_contain_text("That key is already used for: A possession starts here")
    dialog.get_by_role("button", name="Let the two change keys").click()
    page.keyboard.press("Escape")
    page.keyboard.press("p")
    expect(page.locator("#clock-place")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("film-player")).to_be_focused()
    page.keyboard.press("g")
    expect(page.locator(".film-where")).to_have_text("possession 1 of 1, our ball")
    saved(page)
    # No two actions share a key unless somebody chose so.
    page.keyboard.press("?")
    expect(dialog.locator("tbody .warn")).to_have_count(0)


def seed(cast, film):
    skill = make.make_skill(family="defence")
    verdicts = ["did_it", "not_yet", "note"]
    comments = Comment.objects.bulk_create(
        Comment(
            film=film,
            author=cast.coach,
            skill=skill,
            verdict=verdicts[k % 3],
            start_ms=4_000 + k * 8_800,
            happened="You stay home on the corner shooter with the ball two passes away.",
            do_instead="One foot in the key; you still reach her on the pass.",
        )
        for k in range(400)
    )
    link = Comment.players.through
    link.objects.bulk_create(link(comment=one, player=cast.kid) for one in comments)
    for k in range(150):
        start_ms = k * 23_000
        make.make_possession(film, start_ms, start_ms + 20_000, side=["ours", "theirs"][k % 2])
    for k in range(8):
        make.make_clock_mark(film, k * 400_000, k // 2 + 1, 600 - (k % 2) * 200)


def own_work(line) -> float:
    """Milliseconds that the page itself has worked so far."""
    told = {one["name"]: one["value"] for one in line.send("Performance.getMetrics")["metrics"]}
    return 1000 * sum(told[f"{name}Duration"] for name in ("Script", "RecalcStyle", "Layout"))


def test_four_hundred_comments_leave_it_quick(page, cast, long_film):
    seed(cast, long_film)
    opened(page, long_film)
    expect(page.locator("comment-list li.timed")).to_have_count(400)
    expect(page.locator(".film-stroke")).to_have_count(150)
    seek(page, 500_000)
    line = page.context.new_cdp_session(page)
    line.send("Performance.enable")
    usual, worst, work = {}, {}, {}
    for name, key, times in [
        ("step", ".", 15), ("second", "ArrowRight", 9), ("next", "]", 9), ("side", "o", 5),
        ("undo", "u", 5), ("closer", "z", 3), ("second", "ArrowRight", 3), ("start", "p", 1),
        ("end", "i", 1), ("comment", "c", 1),
    ]:  # fmt: skip
        before = own_work(line)
        took = sorted(page.evaluate(PRESS, key) for _time in range(times))
        work[name] = round((own_work(line) - before) / times)
        usual[name], worst[name] = round(took[len(took) // 2]), round(took[-1])
    page.evaluate("document.activeElement.blur()")
    saved(page)
    print("median ms from key to paint", usual, "worst", worst, "script, style and layout", work)
    # Whoever else works on this machine delays one press or another, so the worst is only told.
    assert max(usual.values()) < MOST_MS, usual
    assert max(work.values()) < MOST_MS, work
