"""Drawing in a real browser: by keys alone and by pointer; the same ink on page, still and clip."""

import io
import json
import os
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from django.conf import settings as django_settings
from django.core.files import File
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from PIL import Image
from playwright.sync_api import expect

from devplans.feedback import services
from devplans.feedback.drawings import shapes, svg
from devplans.feedback.models import Clip, Comment
from devplans.film import services as film_services
from tests import cast as people
from tests import factories as make
from tests.e2e.people import TELL_VIOLATIONS
from tests.e2e.steps import until
from tests.feedback.drawings import EVERY_SHAPE, frames, random_drawings

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
SIZE = (1280, 720)
MOMENT_MS = 2_000
GREY = 112
STATIC = Path(__file__).resolve().parents[2] / "devplans" / "feedback" / "static" / "feedback"


@pytest.fixture
def no_async_guard(monkeypatch):
    # Playwright's own loop makes Django take this thread for an asynchronous one.
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture
def page(browser, live_server, no_async_guard):
    context = browser.new_context(
        base_url=live_server.url, viewport={"width": 2240, "height": 1300}
    )
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults = page.faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    assert page.faults == []
    context.close()


def grey_film(path: Path) -> Path:
    """Four seconds of one grey in 1280x720, 25 pictures a second."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=25)
        stream.width, stream.height = SIZE
        stream.pix_fmt = "yuv420p"
        image = Image.new("RGB", SIZE, (GREY,) * 3)
        for number in range(100):
            frame = av.VideoFrame.from_image(image)
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


@pytest.fixture
def room(transactional_db, tmp_path):
    room = people.build()
    path = grey_film(tmp_path / "grey.mp4")
    film = make.make_film(room.squad, state="waiting", size_bytes=path.stat().st_size)
    with path.open("rb") as file:
        film.original_key = default_storage.save(f"films/{film.pk}/original", File(file))
    film.save(update_fields=["original_key"])
    film_services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    room.film = film
    room.skill = make.make_skill(slug="help-position", name="Help-side position")
    return room


def open_film(page, room, live_server):
    client = Client()
    client.force_login(room.coach)
    name = django_settings.SESSION_COOKIE_NAME
    cookie = {"name": name, "value": client.cookies[name].value, "url": live_server.url}
    page.context.add_cookies([cookie])
    page.goto(reverse("film:detail", args=[room.film.pk]))
    page.wait_for_selector("film-player[data-ready]")
    page.wait_for_selector("comment-form [name=start_ms]")
    page.wait_for_selector("comment-list")
    until(page.locator("film-player video").element_handle(), "video => video.readyState >= 2")


def seek(page, ms: int) -> None:
    player = page.locator("film-player").element_handle()
    player.evaluate("(player, ms) => player.seek(ms)", ms)
    until(player, f"player => player.currentMs() === {ms}")
    until(player, "player => !player.querySelector('video').seeking")


def drawn(page) -> list[dict]:
    return json.loads(page.locator("drawing-board [name=drawing]").input_value())


def press(page, *keys: str) -> None:
    for key in keys:
        name, _, count = key.partition("*")
        for _ in range(int(count or 1)):
            page.keyboard.press(name)


def begin(page) -> None:
    seek(page, MOMENT_MS)
    page.evaluate("document.activeElement.blur()")
    press(page, "x")
    expect(page.locator(".drawing-sheet")).to_be_focused()


def test_each_shape_by_keys_alone_and_still_there_after_a_reload(page, room, live_server):
    open_film(page, room, live_server)
    begin(page)
    press(page, "Enter", "ArrowRight*5", "ArrowUp*3", "Enter", "Enter")
    press(page, "l", "2", "ArrowDown*6", "Enter", "ArrowLeft*8", "Enter", "Enter")
    press(page, "c", "ArrowUp*4", "Enter", "ArrowRight*2", "ArrowDown", "Enter")
    press(page, "r", "7", "Enter", "ArrowRight*4", "Enter", "ArrowDown*4", "Enter", "Enter")
    press(page, "f", "5", "3", "Enter", "ArrowLeft*2", "ArrowUp*2", "ArrowLeft*2", "Enter")
    press(page, "t", "4", "ArrowUp*5", "Enter")
    page.keyboard.type("Foot in the key")
    press(page, "Enter")
    kinds = [shape["kind"] for shape in drawn(page)]
    assert kinds == ["arrow", "line", "circle", "area", "freehand", "text"]
    assert np.abs(np.array(drawn(page)[0]["points"]) - [[0.5, 0.5], [0.6, 0.3933]]).max() < 0.001
    first = drawn(page)[0]
    styles = [(shape["colour"], shape["stroke"]) for shape in drawn(page)]
    assert styles == [
        ("chalk", "solid"), ("mint", "solid"), ("mint", "solid"), ("mint", "heavy"),
        ("sky", "solid"), ("blush", "solid"),
    ]  # fmt: skip
    assert shapes.parsed(drawn(page)) == drawn(page)

    press(page, "Control+z", "u")
    assert [shape["kind"] for shape in drawn(page)] == kinds[:4]
    press(page, "y", "Control+y")
    assert [shape["kind"] for shape in drawn(page)] == kinds

    press(page, "s")
    expect(page.locator(".drawing-tools [role=status]")).to_contain_text("Foot in the key")
    before = drawn(page)[5]["points"][0]
    press(page, "ArrowRight*3", "Shift+ArrowDown")
    after = drawn(page)[5]["points"][0]
    assert [round(after[0] - before[0], 3), round(after[1] - before[1], 3)] == [0.06, 0.004]
    press(page, "u")
    assert drawn(page)[5]["points"][0] == before
    press(page, "Enter")
    page.keyboard.type("Key")
    press(page, "Enter", "s", "Delete", "s*5", "e", "e", "ArrowUp*2", "1")
    kept = drawn(page)
    assert [shape["kind"] for shape in kept] == ["arrow", "line", "circle", "area", "text"]
    assert kept[4]["text"] == "Key"
    assert kept[0] != first

    press(page, "Escape", "Escape")
    expect(page.locator(".drawing-sheet")).to_be_hidden()
    expect(page.locator(".drawing-layer svg")).to_be_visible()
    page.reload()
    page.wait_for_selector("comment-form [name=start_ms]")
    expect(page.locator(".drawing-count")).to_have_text("Shapes on the frame: 5")
    assert drawn(page) == kept

    page.locator("comment-form [name=who]").fill("12")
    page.locator("comment-form [name=skill]").fill("Help-side position")
    page.keyboard.press("Tab")
    page.locator("comment-form [value=did_it]").check()
    page.locator("comment-form button[type=submit].primary").click()
    expect(page.locator("comment-form .comment-said")).to_have_text("Kept as a draft.")
    assert Comment.objects.get().drawing.shapes == kept
    expect(page.locator(".drawing-count")).to_have_text("")
    seek(page, 0)
    expect(page.locator(".drawing-layer svg")).to_have_count(0)
    seek(page, MOMENT_MS)
    expect(page.locator(".drawing-layer svg")).to_have_count(1)


@pytest.mark.soak
def test_mouse_and_finger_draw_pick_and_move(page, room, live_server):
    open_film(page, room, live_server)
    begin(page)
    box = page.locator(".drawing-sheet").bounding_box()

    def at(x, y):
        return box["x"] + x * box["width"], box["y"] + y * box["height"]

    def drag(*points):
        page.mouse.move(*at(*points[0]))
        page.mouse.down()
        for point in points[1:]:
            page.mouse.move(*at(*point), steps=6)
        page.mouse.up()

    drag((0.2, 0.2), (0.4, 0.4))
    press(page, "c")
    drag((0.7, 0.3), (0.8, 0.35))
    press(page, "r")
    for corner in ((0.6, 0.6), (0.8, 0.6), (0.8, 0.8)):
        page.mouse.click(*at(*corner))
    page.mouse.dblclick(*at(0.6, 0.8))
    press(page, "f")
    drag((0.1, 0.7), (0.15, 0.8), (0.2, 0.7), (0.25, 0.8))
    kinds = [shape["kind"] for shape in drawn(page)]
    assert kinds == ["arrow", "circle", "area", "freehand"]
    arrow = drawn(page)[0]["points"]
    assert np.abs(np.array(arrow) - [[0.2, 0.2], [0.4, 0.4]]).max() < 0.002
    assert len(drawn(page)[3]["points"]) >= 4

    page.locator("[data-tool=pick]").click()
    press(page, "Escape")
    drag((0.3, 0.3), (0.3, 0.5))
    moved = np.array(drawn(page)[0]["points"]) - np.array(arrow)
    assert np.abs(moved - [[0, 0.2], [0, 0.2]]).max() < 0.003
    press(page, "Delete")
    assert [shape["kind"] for shape in drawn(page)] == kinds[1:]

    press(page, "l")
    touch(page, at(0.3, 0.3), at(0.5, 0.3))
    line = drawn(page)[-1]
    assert line["kind"] == "line"
    assert np.abs(np.array(line["points"]) - [[0.3, 0.3], [0.5, 0.3]]).max() < 0.002


def touch(page, start, end) -> None:
    finger = page.context.new_cdp_session(page)
    where = [{"x": start[0], "y": start[1]}]
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": where})
    for step in range(1, 9):
        x, y = (a + (b - a) * step / 8 for a, b in zip(start, end, strict=True))
        points = [{"x": x, "y": y}]
        finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_script_and_server_write_the_same_svg(page, live_server):
    """Letter for letter, on drawings of all kinds in frames of all shapes."""
    cases = []

    @given(random_drawings, frames)
    @settings(max_examples=150, database=None, suppress_health_check=list(HealthCheck))
    def collect(drawing, frame):
        cases.append((shapes.parsed(drawing), frame))

    collect()
    address = f"{live_server.url}/written"
    body = '<!doctype html><script type="module" src="/written.js"></script>'
    script = (STATIC / "drawing-svg.js").read_text(encoding="utf-8") + "\nwindow.drawn = drawn;"
    page.route("**/written", lambda route: route.fulfill(body=body, content_type="text/html"))
    page.route(
        "**/written.js", lambda route: route.fulfill(body=script, content_type="text/javascript")
    )
    page.goto(address)
    until(page.locator("html").element_handle(), "() => Boolean(window.drawn)")
    asked = [[drawing, {"width": frame[0], "height": frame[1]}] for drawing, frame in cases]
    written = page.evaluate("cases => cases.map((one) => drawn(...one))", asked)
    expected = [svg.drawn(drawing, width=frame[0], height=frame[1]) for drawing, frame in cases]
    assert written == expected
    assert sum(len(drawing) for drawing, _ in cases) > 200


NEARBY_PX = 3
# Half of what the palest part of a drawing, the tint of an area, differs from the grey.
INK_LEVELS = 20


def luma(picture: Image.Image) -> np.ndarray:
    return np.asarray(picture.convert("L"), dtype=int)


def around(ink: np.ndarray, px: int, *, join=np.logical_or) -> np.ndarray:
    """Each pixel joined with those within `px`, in a disc."""
    wide = np.pad(ink, px, constant_values=join is np.logical_and)
    found = ink.copy()
    for down in range(-px, px + 1):
        for right in range(-px, px + 1):
            if down * down + right * right <= px * px:
                rows = slice(px + down, px + down + ink.shape[0])
                columns = slice(px + right, px + right + ink.shape[1])
                found = join(found, wide[rows, columns])
    return found


def ink_of(picture: Image.Image, bare: Image.Image) -> np.ndarray:
    """Where a picture differs from the bare frame by more than INK_LEVELS of 255 in its luma.

    Between the dark casing and the light core a pixel can have the very grey of the ground, so gaps
    of one pixel are closed.
    """
    ink = np.abs(luma(picture) - luma(bare)) > INK_LEVELS
    return around(around(ink, 1), 1, join=np.logical_and)


def overlap(one: np.ndarray, other: np.ndarray) -> float:
    return float((one & other).sum() / (one | other).sum())


def stray(one: np.ndarray, other: np.ndarray) -> int:
    """Pixels of ink in one that have no ink of the other within NEARBY_PX."""
    return int((one & ~around(other, NEARBY_PX)).sum())


def mixed_drawings(count: int) -> list[list[dict]]:
    """Drawings that hold every shape, with every colour and stroke among them."""
    made = []
    for number in range(count):
        turned = []
        for place, shape in enumerate(EVERY_SHAPE):
            points = [
                [round(x if number % 2 else 1 - x, 4), round((y + 0.05 * number) % 0.9 + 0.05, 4)]
                for x, y in shape["points"]
            ]
            colour = shapes.COLOURS[(place + number) % 4]
            stroke = shapes.STROKES[(place + number) % 3]
            turned.append({**shape, "points": points, "colour": colour, "stroke": stroke})
        made.append(turned)
    return made


def clip_frame(clip: Clip, at_s: float) -> Image.Image:
    with default_storage.open(clip.video_key) as file, av.open(file) as container:
        shown = None
        for frame in container.decode(video=0):
            if frame.time > at_s:
                break
            shown = frame
        return shown.to_image()


def on_page(page) -> Image.Image:
    box = page.locator(".drawing-layer").bounding_box()
    assert (box["width"], box["height"]) == SIZE, box
    return Image.open(io.BytesIO(page.screenshot(clip=box)))


@pytest.mark.soak
def test_the_same_ink_on_page_still_and_clip(page, room, live_server):
    drawings = [EVERY_SHAPE, *mixed_drawings(7)]
    moments = [200 + 400 * number for number in range(len(drawings))]
    comments = [
        services.add_comment(
            actor=room.coach, film=room.film, start_ms=ms, players=[room.kid], skill=room.skill,
            verdict="did_it", happened="On time.", drawing=drawing,
        )
        for ms, drawing in zip(moments, drawings, strict=True)
    ]  # fmt: skip
    services.send_comments(actor=room.coach, comments=comments)
    open_film(page, room, live_server)
    seek(page, 0)
    page.wait_for_timeout(300)
    seek(page, moments[0])
    page.evaluate("document.fonts.ready")
    expect(page.locator(".drawing-layer svg")).to_have_count(1)
    seek(page, 0)
    expect(page.locator(".drawing-layer svg")).to_have_count(0)
    bare_page = on_page(page)
    found = []
    for comment, ms in zip(comments, moments, strict=True):
        seek(page, ms)
        expect(page.locator(".drawing-layer svg")).to_have_count(1)
        page_ink = ink_of(on_page(page), bare_page)
        clip = Clip.objects.get(comment=comment)
        assert clip.state == "ready"
        with default_storage.open(clip.still_key) as file:
            still = Image.open(file).convert("RGB")
        bare = Image.new("RGB", SIZE, (GREY,) * 3)
        held_s = (ms - clip.start_ms) / 1000 + 0.8
        clip_ink = ink_of(clip_frame(clip, held_s), bare)
        for name, ink in (("still", ink_of(still, bare)), ("clip", clip_ink)):
            strays = stray(page_ink, ink) + stray(ink, page_ink)
            found.append((name, overlap(page_ink, ink), strays))
        after = ink_of(clip_frame(clip, held_s + 0.8), bare)
        assert not after.any()
    assert min(share for _name, share, _strays in found) >= 0.95, found
    assert max(strays for _name, _share, strays in found) == 0, found
