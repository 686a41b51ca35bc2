"""The film page in a real browser: exact frames, keys, marks, and sending a film with progress."""

import base64
import io
import os
import re
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.files import File
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import expect

from devplans.film import services
from devplans.film.models import Film
from tests import cast as people
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
BESIDE = re.compile(r"^https?://[^/]+/feedback/")
# Strings would be evaluated, which the pages forbid.
NOW_IS = "ms => document.querySelector('film-player').currentMs() === ms"
PRESENTED = """async () => {
  const video = document.querySelector("film-player video");
  while (video.seeking) {
    await new Promise((done) => video.addEventListener("seeked", done, { once: true }));
  }
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext("2d").drawImage(video, 0, 0);
  return canvas.toDataURL("image/png").split(",")[1];
}"""


@pytest.fixture
def no_async_guard(monkeypatch):
    # Playwright's own loop makes Django take this thread for an asynchronous one.
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture
def page(browser, live_server, no_async_guard):
    """A laptop's page; what lies beside the film comes from elsewhere, and is left empty here."""
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    context.route(BESIDE, lambda route: route.fulfill(content_type="text/html", body=""))
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults = page.faults = []
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    assert page.faults == []
    context.close()


def sign_in(page, user, url: str) -> None:
    client = Client()
    client.force_login(user)
    name = django_settings.SESSION_COOKIE_NAME
    page.context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": url}])


@pytest.fixture
def cast(transactional_db):
    return people.build()


def ready_film(squad, path: Path) -> Film:
    film = make.make_film(squad, state="waiting", size_bytes=path.stat().st_size)
    with path.open("rb") as file:
        film.original_key = default_storage.save(f"films/{film.pk}/original", File(file))
    film.save(update_fields=["original_key"])
    services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    return film


@pytest.fixture
def open_film(page, cast, live_server, tmp_path):
    """Opens the page of a numbered film of the named kind as its coach; its kind."""

    def opened(name: str):
        kind = next(kind for kind in films.kinds() if kind.name == name)
        film = ready_film(cast.squad, films.write(tmp_path, kind))
        sign_in(page, cast.coach, live_server.url)
        page.goto(reverse("film:detail", args=[film.pk]))
        page.wait_for_selector("film-player[data-ready]")
        page.wait_for_function("() => document.querySelector('video').readyState >= 2")
        return film, kind

    return opened


def frame_on_screen(page) -> int:
    picture = Image.open(io.BytesIO(base64.b64decode(page.evaluate(PRESENTED))))
    return films.number_on(picture)


def ms_now(page) -> int:
    return page.evaluate("document.querySelector('film-player').currentMs()")


def rounded_up(seconds) -> int:
    return -(-seconds.numerator * 1000 // seconds.denominator)


@pytest.mark.parametrize("name", ["irregular", "phone", "late"])
def test_each_step_lands_on_the_next_frame(page, open_film, name):
    _film, kind = open_film(name)
    assert page.evaluate("document.querySelector('video').videoWidth") > 0
    times = [rounded_up(second) for second in kind.seconds()]
    for number in range(1, 16):
        page.keyboard.press(".")
        assert (ms_now(page), frame_on_screen(page)) == (times[number], number)
    for number in range(14, 9, -1):
        page.keyboard.press(",")
        assert (ms_now(page), frame_on_screen(page)) == (times[number], number)
    page.keyboard.press("ArrowRight")
    assert frame_on_screen(page) == kind.on_screen(times[10] + 1000)


def test_any_place_is_exact_and_so_is_its_still(page, open_film):
    film, kind = open_film("irregular")
    times = [rounded_up(second) for second in kind.seconds()]
    for number in (0, 1, 37, 74, 111, 148, 149):
        page.evaluate(
            "ms => document.dispatchEvent(new CustomEvent('film:seek', {detail: {ms}}))",
            times[number],
        )
        page.wait_for_function(NOW_IS, arg=times[number])
        assert frame_on_screen(page) == number
        still = page.request.get(f"{reverse('film:still', args=[film.pk])}?ms={times[number]}")
        assert films.number_on(Image.open(io.BytesIO(still.body()))) == number


def test_pausing_tells_the_frame_that_is_seen(page, open_film):
    _film, kind = open_film("irregular")
    times = [rounded_up(second) for second in kind.seconds()]
    for _time in range(4):
        page.keyboard.press("Space")
        expect(page.locator("[data-do=play]")).to_have_text("Pause")
        before = ms_now(page)
        page.wait_for_function(
            "ms => document.querySelector('film-player').currentMs() > ms + 150", arg=before
        )
        page.keyboard.press("Space")
        expect(page.locator("[data-do=play]")).to_have_text("Play")
        assert frame_on_screen(page) == times.index(ms_now(page))


def test_keys_ask_for_a_comment_and_mark_a_span(page, open_film):
    open_film("steady")
    page.evaluate(
        """() => {
          window.asked = [];
          document.addEventListener("film:moment", ({ detail }) => asked.push(detail));
        }"""
    )
    page.evaluate("document.querySelector('film-player').seek(1000)")
    page.wait_for_function(NOW_IS, arg=1000)
    page.keyboard.press("c")
    page.locator("h1").click()
    page.keyboard.press("b")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("e")
    page.locator("h1").click()
    page.keyboard.press("c")
    assert page.evaluate("asked") == [
        {"why": "comment", "ms": 1000, "startMs": 1000, "endMs": None, "wasPlaying": False},
        {"why": "begin", "ms": 1000, "startMs": 1000, "endMs": None},
        {"why": "end", "ms": 2000, "startMs": 1000, "endMs": 2000},
        {"why": "comment", "ms": 2000, "startMs": 1000, "endMs": 2000, "wasPlaying": False},
    ]
    expect(page.locator(".film-span")).to_have_text("0:01.0–0:02.0")


def test_a_loop_stays_in_its_span(page, open_film):
    open_film("steady")
    page.evaluate(
        """() => {
          window.times = [];
          document.addEventListener("film:time", ({ detail }) => times.push(detail.ms));
          const detail = { startMs: 2000, endMs: 2500 };
          document.dispatchEvent(new CustomEvent("film:loop", { detail }));
        }"""
    )
    page.wait_for_function(
        "() => times.filter((ms, i) => i && ms < times[i - 1] - 200).length >= 2"
    )
    times = page.evaluate("times")
    assert min(times) >= 2000
    assert max(times) <= 2500 + 150


def test_marks_lie_on_the_line_where_their_comments_are(page, open_film):
    film, _kind = open_film("steady")
    marks = [
        {"ms": 1000, "verdict": "did_it", "id": "a"},
        {"ms": 2500, "verdict": "note", "id": "b"},
    ]
    page.evaluate(
        "detail => document.dispatchEvent(new CustomEvent('film:marks', {detail}))", marks
    )
    drawn = page.locator("svg.film-mark")
    assert [drawn.nth(i).get_attribute("x") for i in range(2)] == ["20%", "50%"]
    box = page.locator(".film-line").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.5 + 4, box["y"] + 10)
    page.wait_for_function(NOW_IS, arg=2500)
    assert page.locator(".film-seek").get_attribute("aria-valuetext") == "0:02.5"
    assert film.duration_ms == 5000


def test_on_a_laptop_the_controls_lie_in_one_row(page, open_film):
    open_film("steady")
    place = ".film-stage .film-controls .button"
    tops = {one.bounding_box()["y"] for one in page.locator(place).all()}
    assert len(tops) == 1


def test_a_key_can_be_put_elsewhere_and_all_can_be_switched_off(page, open_film):
    open_film("steady")
    page.keyboard.press("?")
    page.get_by_role("button", name="One frame on: .").click()
    page.keyboard.press("x")
    page.get_by_role("button", name="Close", exact=True).click()
    page.keyboard.press(".")
    assert ms_now(page) == 0
    page.keyboard.press("x")
    assert ms_now(page) == 34
    page.keyboard.press("Space")
    expect(page.locator("[data-do=play]")).to_have_text("Pause")
    page.keyboard.press("Space")
    expect(page.locator("[data-do=play]")).to_have_text("Play")
    stopped = ms_now(page)
    page.keyboard.press("?")
    page.get_by_label("Switch all of these keys off").check()
    page.get_by_role("button", name="Close", exact=True).click()
    page.keyboard.press("x")
    assert ms_now(page) == stopped


@pytest.mark.parametrize("size", [(390, 844), (320, 640)])
def test_the_page_fits_a_phone(page, open_film, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    open_film("portrait")
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    for button in page.locator(".film-controls .button").all():
        assert button.bounding_box()["height"] >= 48


def test_a_film_is_sent_with_progress_and_becomes_ready(page, cast, live_server):
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("film:upload"))
    page.get_by_label("Film").set_input_files(films.shared_film("bigbuckbunny"))
    expect(page.get_by_label("Title")).to_have_value("bigbuckbunny")
    page.get_by_role("button", name="Upload").click()
    page.wait_for_url(re.compile(r"/films/[0-9a-f-]{36}/$"), timeout=60_000)
    page.wait_for_selector("film-player[frames][data-ready]", timeout=60_000)
    page.wait_for_function("() => document.querySelector('video').videoWidth > 0")
    assert Film.objects.get().state == "ready"


def test_what_is_no_film_is_said_beside_the_file(page, cast, live_server, tmp_path):
    path = tmp_path / "page.mp4"
    path.write_text("<!doctype html>")
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("film:upload"))
    page.get_by_label("Film").set_input_files(path)
    page.get_by_role("button", name="Upload").click()
    expect(page.locator("#id_file_errors")).to_contain_text("not a film we can read")
    expect(page.get_by_label("Film")).to_be_focused()
    assert not Film.objects.exists()
    # The browser's own line for an answer that was expected.
    page.faults[:] = [line for line in page.faults if "400 (Bad Request)" not in line]


def picture_over_line(page) -> int:
    """Number of the frame on the small picture over the line."""
    return films.number_on(Image.open(io.BytesIO(page.locator(".film-scrub-picture").screenshot())))


def test_a_small_picture_over_the_line_shows_the_place_pointed_at(page, open_film):
    _film, _kind = open_film("steady")
    line = page.locator(".film-line")
    box = line.bounding_box()
    small = page.locator(".film-scrub")
    expect(small).to_be_hidden()
    with page.expect_response(lambda answer: "/sprite/" in answer.url):
        page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + box["height"] / 2)
    expect(small).to_be_visible()
    assert picture_over_line(page) == 60
    page.mouse.move(box["x"] + box["width"] * 0.9, box["y"] + box["height"] / 2)
    assert picture_over_line(page) == 120
    place = small.bounding_box()
    assert place["x"] + place["width"] <= box["x"] + box["width"] + 1
    page.mouse.move(box["x"], box["y"] - 300)
    expect(small).to_be_hidden()
    line.locator("input").focus()
    page.keyboard.press("Home")
    expect(small).to_be_visible()
    assert picture_over_line(page) == 0
