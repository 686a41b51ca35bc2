"""A film is watched and commented on off the laptop while it is sent; the comments stay right."""

import base64
import io
from fractions import Fraction
from random import Random

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import expect

from devplans.feedback.models import Comment
from devplans.film import services
from devplans.film.models import Film
from devplans.film.pictures import still_of
from tests import factories as make
from tests.e2e import test_film_page as film_page
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
cast, page = film_page.cast, film_page.page
no_async_guard = film_page.no_async_guard
UPLOAD_PATH = "**/api/v1/uploads/*-*"
HERE = """() => {
  const player = document.querySelector("film-player");
  return !player.hidden && player.reel?.isOpen && player.video.readyState >= 2;
}"""
COPIED = "() => document.querySelector('local-film').hasAttribute('copied')"
STANDS = """() => {
  const { video, wanted } = document.querySelector("film-player");
  return wanted === null && !video.seeking && video.readyState >= 2;
}"""
KEEP = """async ([ms, words, player, skill]) => {
  const token = /csrftoken=([^;]+)/.exec(document.cookie)[1];
  const body = { film: location.pathname.split("/")[2], start_ms: ms, end_ms: null,
    players: [player], skill, verdict: "note", happened: words, do_instead: "" };
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  const request = { method: "POST", headers, body: JSON.stringify(body) };
  return (await fetch("/api/v1/comments/", request)).status;
}"""


def kind_named(name: str) -> films.Kind:
    return next(kind for kind in films.kinds() if kind.name == name)


def long_kind(name: str) -> films.Kind:
    """Twelve seconds and more, so that fifty frames lie well apart."""
    times = (
        films.steady(600, 1001, 7007)
        if name == "long-steady"
        else films.irregular(600, least=150, most=900, seed=11, first=333)
    )
    base = Fraction(1, 30_000 if name == "long-steady" else 18_000)
    options = {"bf": "3", "g": "90", "preset": "veryfast"}
    return films.Kind(name, times, base, options=options, sound=True)


@pytest.fixture
def prepared_later(monkeypatch):
    """The page goes on while the film waits; the test says when it is prepared."""
    monkeypatch.setattr("devplans.film.tasks.prepare.delay_on_commit", lambda _film: None)


@pytest.fixture
def sending(page, cast, live_server, prepared_later, tmp_path):
    """Begins to send a film and holds its bytes back; `let_go()` lets them through."""
    held, is_free = [], []
    page.route(UPLOAD_PATH, lambda route: route.continue_() if is_free else held.append(route))
    film_page.sign_in(page, cast.coach, live_server.url)

    def begin(*paths):
        page.goto(reverse("film:upload"))
        page.set_input_files("[name=file]", list(paths))
        page.get_by_label("Title").fill("Game")
        page.get_by_role("button", name="Upload").click()
        page.wait_for_url("**/films/*-*/")
        return Film.objects.get(title="Game")

    def let_go():
        is_free.append(True)
        while held:
            held.pop().continue_()

    begin.let_go = let_go
    return begin


def frame_here(page) -> int:
    picture = Image.open(io.BytesIO(base64.b64decode(page.evaluate(film_page.PRESENTED))))
    return films.number_on(picture)


def go_to(page, ms: int) -> None:
    page.evaluate("ms => document.querySelector('film-player').seek(ms)", ms)
    page.wait_for_function(STANDS)


def comments_land(page, cast, begin, path, kind, count: int) -> None:
    skill = make.make_skill(slug="any")
    film = begin(path)
    page.wait_for_function(HERE)
    chance, seen = Random(count), {}
    last = round(float(kind.seconds()[-1]) * 1000)
    for number in range(count):
        go_to(page, chance.randrange(last))
        # The coach stops where he likes and steps a frame or two.
        for _ in range(number % 3):
            page.keyboard.press("." if number % 2 else ",")
            page.evaluate("() => document.querySelector('film-player').steps.last")
            page.wait_for_function(STANDS)
        words = f"moment {number}"
        seen[words] = frame_here(page)
        ms = film_page.ms_now(page)
        assert page.evaluate(KEEP, [ms, words, str(cast.kid.pk), skill.slug]) == 201
    assert Film.objects.get().state == "uploading"
    begin.let_go()
    expect(page.locator("local-film .sending")).to_be_hidden(timeout=30_000)
    film.refresh_from_db()
    assert film.state == "waiting"
    services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    assert film.state == "ready", film.problem
    page.wait_for_function(COPIED)
    page.wait_for_selector("film-player[data-ready]")
    right_still, right_copy = 0, 0
    for comment in Comment.objects.all():
        still = Image.open(io.BytesIO(still_of(film, comment.start_ms)))
        right_still += films.number_on(still) == seen[comment.happened]
        go_to(page, comment.start_ms)
        right_copy += frame_here(page) == seen[comment.happened]
    assert (right_still, right_copy) == (count, count)


@pytest.mark.parametrize("name", ["late", "irregular"])
def test_comments_on_the_file_land_on_its_frames(page, cast, sending, tmp_path, name):
    kind = kind_named(name)
    comments_land(page, cast, sending, films.write(tmp_path, kind), kind, 6)


@pytest.mark.soak
@pytest.mark.timeout(900)
@pytest.mark.parametrize("name", ["long-steady", "long-irregular"])
def test_fifty_comments_land_on_their_frames(page, cast, sending, tmp_path, name):
    kind = long_kind(name)
    comments_land(page, cast, sending, films.write(tmp_path, kind), kind, 50)


@pytest.mark.soak
@pytest.mark.parametrize("name", ["steady", "broadcast", "portrait", "pieces", "web"])
def test_every_kind_of_film_is_right(page, cast, sending, tmp_path, name):
    kind = kind_named(name)
    comments_land(page, cast, sending, films.write(tmp_path, kind), kind, 10)


def test_two_files_are_one_film_and_go_on_after_a_reload(page, cast, sending, tmp_path):
    first = films.write(tmp_path, kind_named("irregular"))
    second = films.write(tmp_path, kind_named("late"))
    page.on("dialog", lambda dialog: dialog.accept())
    film = sending(second, first)
    page.wait_for_function(HERE)
    # In the order of their names, as cameras number them.
    assert [file.filename for file in film.files.all()] == [first.name, second.name]
    page.evaluate("() => document.querySelector('film-player').seek(9000)")
    page.wait_for_function(
        "() => { const { reel, video } = document.querySelector('film-player');"
        " return reel.now === reel.pieces[1] && reel.isOpen && !video.seeking; }"
    )
    page.wait_for_function(film_page.NOW_IS.replace("=== ms", ">= 8900"))
    ms, frame = film_page.ms_now(page), frame_here(page)
    index = page.evaluate("() => document.querySelector('film-player').reel.pieces[1].startMs")
    assert kind_named("late").on_screen(ms - index) == frame
    page.reload()
    page.get_by_text("of this film has arrived").wait_for()
    again = page.locator("[name=again]")
    again.set_input_files([str(second)])
    expect(page.locator(".choose-again [role=alert]")).to_contain_text(first.name)
    again.set_input_files([str(second), str(first)])
    page.wait_for_function(HERE)
    sending.let_go()
    expect(page.locator("local-film .sending")).to_be_hidden(timeout=30_000)
    film.refresh_from_db()
    assert film.state == "waiting"
    services.prepare_film(film_id=film.pk)
    film.refresh_from_db()
    assert film.state == "ready", film.problem
    assert next(file.duration_ms for file in film.files.all()) == index
    page.wait_for_function(COPIED)
    go_to(page, ms)
    assert frame_here(page) == frame


def test_pausing_and_going_on(page, cast, sending, tmp_path):
    film = sending(films.write(tmp_path, kind_named("steady")))
    page.get_by_role("button", name="Pause").click()
    expect(page.locator(".sending-head")).to_contain_text("Paused")
    sending.let_go()
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("local-film .sending")).to_be_hidden()
    film.refresh_from_db()
    assert film.state == "waiting"
    # The browser's own line for a request that was given up.
    page.faults[:] = [line for line in page.faults if "ERR_" not in line]


def test_what_the_browser_cannot_show_is_said_and_sent_all_the_same(page, cast, sending, tmp_path):
    film = sending(films.write(tmp_path, kind_named("phone")))
    expect(page.locator(".cannot-play")).to_contain_text("HEVC")
    expect(page.locator("film-player")).to_be_hidden()
    expect(page.locator("local-film .sending")).to_be_visible()
    sending.let_go()
    expect(page.locator("local-film .sending")).to_be_hidden()
    film.refresh_from_db()
    assert film.state == "waiting"
    services.prepare_film(film_id=film.pk)
    page.wait_for_function(COPIED)
    expect(page.locator("film-player")).to_be_visible()
    expect(page.locator(".cannot-play")).to_be_hidden()
