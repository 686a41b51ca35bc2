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

pytestmark = [pytest.mark.e2e, pytest.mark.django_db(transaction=True)]
cast, page = film_page.cast, film_page.page
no_async_guard = film_page.no_async_guard
UPLOAD_PATH = "**/api/v1/uploads/*-*"
HERE = """() => {
  const player = document.querySelector("film-player");
  return !player.hidden && player.reel?.isOpen && player.video.readyState >= 2;
}"""
COPIED = "() => document.querySelector('film-player').hasAttribute('frames')"
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
            page.wait_for_function("() => !document.querySelector('film-player video').seeking")
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
