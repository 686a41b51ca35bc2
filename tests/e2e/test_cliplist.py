"""A clip list: put together by keyboard and pointer, shown on a wall, watched by a family."""

import json
import re
from fractions import Fraction
from itertools import pairwise

import pytest
from playwright.sync_api import expect

from tests.e2e import clubs, steps
from tests.e2e.steps import A_WHILE_MS, until
from tests.film import films

pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.soak, pytest.mark.timeout(600)]

KIND = films.Kind("half", films.steady(900), Fraction(1, 30), options={"g": "30"})
WALLS = [(1280, 720), (1920, 1080), (390, 844), (320, 640)]
# Between the last frame of one clip and the first of the next, on a busy machine.
LONGEST_GAP_MS = 250
NAMES = ("Isaura", "Brunhild", "Lucan", "Okonjo", "Vasquell")
# Notes when each frame of each video came on screen, and which one could be seen then.
WATCH = """() => {
  window.frames_seen = [];
  for (const [index, video] of [...document.querySelectorAll("list-show video")].entries()) {
    const note = (now, { mediaTime }) => {
      if (video.classList.contains("seen") && !video.paused) {
        window.frames_seen.push([index, now, Math.round(mediaTime * 1000)]);
      }
      video.requestVideoFrameCallback(note);
    };
    video.requestVideoFrameCallback(note);
  }
}"""


@pytest.fixture(scope="module")
def club(portal):
    return clubs.seed(portal)


@pytest.fixture
def coach(person, club):
    return person().sign_in(club.emails["coach"])


def film_of(coach, club, tmp_path, title: str) -> str:
    """A film that is ready, with three comments."""
    key = steps.send_film(coach, films.write(tmp_path, KIND), squad=club.squad, title=title)
    coach.go(f"/films/{key}/")
    coach.page.wait_for_selector("film-player[data-ready]", timeout=A_WHILE_MS)
    for place, (skill, who) in enumerate(
        [("closeout-technique", "kid"), ("contain-ball", "mate"), ("spacing", "sibling")]
    ):
        body = {
            "film": key, "start_ms": 4_000 + 6_000 * place, "end_ms": 5_000 + 6_000 * place,
            "players": [club.players[who]], "skill": skill, "verdict": "not_yet",
            "happened": f"Comment {place}", "do_instead": "Go early.",
        }  # fmt: skip
        assert coach.api("POST", "/api/v1/comments/", **body).status == 201
    return key


def on_list(coach) -> list[str]:
    """What the rows say, in order."""
    rows = coach.page.locator(".cliplist-row .grow > p:first-child")
    return [text.strip() for text in rows.all_inner_texts()]


def put_together(coach, title: str) -> None:
    """From the film page: a marked span and a comment; then two more from the search."""
    page = coach.page
    page.reload()
    page.wait_for_selector("film-player[data-ready]")
    page.wait_for_selector("comment-list .actions")
    film = page.locator("film-player").element_handle()
    until(film, "player => Boolean(player.frames)")
    film.evaluate("player => player.seek(1000)")
    page.keyboard.press("b")
    film.evaluate("player => player.seek(2500)")
    page.keyboard.press("e")
    page.get_by_text("Put a span on a clip list").click()
    span = page.locator("list-pick[span]")
    expect(span.locator("[name=start_ms]")).to_have_value("0:01.000")
    expect(span.locator("[name=end_ms]")).to_have_value("0:02.500")
    span.locator("[name=title]").fill(title)
    span.locator("[name=title]").press("Enter")
    expect(page.locator(".list-pick.added")).to_contain_text("1 clip, 0:01")
    page.get_by_role("link", name=re.compile("^To a list")).first.click()
    expect(page.locator("comment-list list-pick [name=clip_list]")).to_be_focused()
    expect(page.locator(".htmx-added, .htmx-settling, .htmx-request")).to_have_count(0)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("comment-list .list-pick.added")).to_contain_text("2 clips, 0:04")
    page.locator("comment-list .list-pick.added a").click()
    page.get_by_role("link", name="Find clips").click()
    page.get_by_label("Skill").select_option("Containing the ball")
    page.get_by_role("button", name="Search").click()
    expect(page.locator(".cliplist-found")).to_have_count(1)
    page.get_by_label("Skill").select_option("")
    page.get_by_role("button", name="Search").click()
    for row in page.locator(".cliplist-found").all()[1:3]:
        row.click()
    page.get_by_role("button", name="Put them on the list").click()
    expect(page.locator(".cliplist-row")).to_have_count(4)


SPAN, CLOSE, BALL, SPACE = (
    "A moment of the film", "Closeout technique", "Containing the ball", "Spacing and balance",
)  # fmt: skip


def reorder(coach) -> None:
    """By keys, by single presses, by dragging; and back."""
    page = coach.page
    rows = page.locator(".cliplist-row")
    page.keyboard.press("ArrowDown")
    expect(rows.first).to_be_focused()
    page.keyboard.press("Alt+ArrowDown")
    expect(page.locator(".cliplist-undo")).to_contain_text("another place")
    assert on_list(coach) == [CLOSE, SPAN, BALL, SPACE]
    expect(rows.nth(1)).to_be_focused()
    page.keyboard.press("z")
    expect(rows.first).to_contain_text(SPAN)
    page.get_by_role("button", name="Clip 4 up").click()
    expect(rows.nth(2)).to_contain_text(SPACE)
    grip = rows.nth(3).locator("[data-grip]").bounding_box()
    top = rows.nth(0).bounding_box()
    page.mouse.move(grip["x"] + 10, grip["y"] + 10)
    page.mouse.down()
    page.mouse.move(grip["x"] + 10, top["y"] + 4, steps=8)
    with page.expect_response("**/move/"):
        page.mouse.up()
    page.wait_for_load_state("networkidle")
    expect(rows.nth(2)).to_contain_text(CLOSE)
    assert on_list(coach) == [BALL, SPAN, CLOSE, SPACE]
    rows.nth(3).focus()
    page.keyboard.press("x")
    expect(rows).to_have_count(3)
    expect(page.locator(".cliplist-time")).to_have_text("0:07")
    page.keyboard.press("z")
    expect(rows).to_have_count(4)
    expect(page.locator(".cliplist-time")).to_have_text("0:10")
    rows.nth(0).focus()
    page.keyboard.press("Enter")
    page.keyboard.type("Isaura, and number 94: feet first")
    rows.nth(0).get_by_role("button", name="Keep it").click()
    expect(rows.nth(0)).to_contain_text("The team reads: Team-mates: feet first")


def fits(page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= width, page.url


def gaps_of(page) -> list[float]:
    """Milliseconds between the last frame of each clip and the first of the next."""
    seen = page.evaluate("window.frames_seen")
    return [
        now - before for (one, before, _ms), (other, now, _next) in pairwise(seen) if one != other
    ]


def show_it(coach) -> None:
    """One clip after the other without a gap; keys; a stroke that goes when the film goes on."""
    page = coach.page
    page.get_by_role("link", name="Show it").click()
    for width, height in WALLS:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 720})
    html = page.content()
    assert not [name for name in NAMES if name in html]
    page.evaluate(WATCH)
    page.get_by_role("button", name="In this window").click()
    show = page.locator("list-show").element_handle()
    until(show, "show => show.at === 0 && !show.video.paused")
    expect(page.locator(".show-left")).to_have_text(re.compile(r"^0:(09|10|11) left$"))
    until(show, "show => show.at === 3 && !show.changing && show.video.paused")
    gaps = gaps_of(page)
    print("gaps between clips, ms:", [round(gap) for gap in gaps])
    assert len(gaps) == 3
    assert max(gaps) < LONGEST_GAP_MS
    # Nothing of the film is seen but the spans, give or take a frame.
    clips = json.loads(page.locator("#programme").inner_text())["clips"]
    for _video, _now, ms in page.evaluate("window.frames_seen"):
        assert any(clip["start"] - 40 <= ms <= clip["end"] + 40 for clip in clips), ms
    until(show, "show => show.video.paused")
    expect(page.locator(".show-left")).to_have_text("the end")
    page.keyboard.press("ArrowLeft")
    until(show, "show => show.at === 2 && !show.video.paused")
    page.keyboard.press("l")
    page.keyboard.press("s")
    until(show, "show => show.loop && show.video.playbackRate === 0.5")
    page.keyboard.press("Space")
    until(show, "show => show.video.paused")
    page.mouse.move(300, 300)
    page.mouse.down()
    page.mouse.move(500, 420, steps=6)
    page.mouse.up()
    expect(page.locator(".show-pen g")).to_have_count(1)
    assert show.evaluate("show => show.video.paused")
    page.keyboard.press("Space")
    until(show, "show => !show.video.paused")
    expect(page.locator(".show-pen g")).to_have_count(0)
    page.keyboard.press("w")
    expect(page.locator(".show-skill")).to_have_text(CLOSE)
    page.keyboard.press("?")
    expect(page.locator("dialog.film-keys tbody tr")).to_have_count(14)
    page.get_by_role("button", name="Close").click()
    page.mouse.move(640, 600)
    for width, height in WALLS[2:]:
        page.set_viewport_size({"width": width, "height": height})
        bar = page.locator(".show-bar").bounding_box()
        assert bar["x"] >= 0
        assert bar["x"] + bar["width"] <= width
    page.set_viewport_size({"width": 1280, "height": 800})
    page.keyboard.press("Escape")
    page.wait_for_selector("clip-list")


def test_a_list_is_put_together_and_shown(coach, club, tmp_path):
    film_of(coach, club, tmp_path, "First half")
    put_together(coach, "Closeouts")
    reorder(coach)
    page = coach.page
    address = page.url
    for path in (address, "/feedback/lists/", f"{address}search/"):
        page.goto(path)
        fits(page, 320)
    page.set_viewport_size({"width": 1280, "height": 800})
    page.goto(address)
    show_it(coach)


def test_a_family_watches_the_spans_and_never_asks_for_the_film(coach, club, person, tmp_path):
    film = film_of(coach, club, tmp_path, "Second half")
    comments = coach.api("GET", f"/api/v1/comments/?film={film}").json()["results"]
    page = coach.page
    page.goto("/feedback/lists/")
    coach.fill(title="Isaura's help side")
    coach.press("Begin the list")
    for one in comments[:2]:
        page.locator(f"[value='{one['id']}']").check()
    coach.press("Put them on the list")
    address = page.url.removeprefix(coach.address)
    coach.press("Open to the squad")
    assert "as soon as each of them is cut" in coach.text()
    family = person(on="phone").sign_in(club.emails["mate_family"])
    family.go("/family/")
    family.follow("Film of the team")
    family.page.get_by_role("link", name="A team-mate's help side").click()
    family.page.get_by_role("link", name="Watch").wait_for(timeout=A_WHILE_MS)
    expect(family.page.locator("#cliplist-watch")).not_to_contain_text(
        "being cut", timeout=A_WHILE_MS
    )
    assert "Isaura" not in family.page.content()
    fits(family.page, 320)
    family.page.get_by_role("link", name="Watch").click()
    family.page.get_by_role("button", name="In this window").tap()
    show = family.page.locator("list-show").element_handle()
    until(show, "show => show.at === 1 && !show.video.paused")
    until(show, "show => show.video.paused")
    assert "Isaura" not in family.page.content()
    assert not [path for _method, path in family.touched if path.startswith(f"/films/{film}")]
    assert family.api("GET", f"/films/{film}/play/").status == 404
    # The coach closes it: the very next request is refused.
    clip = next(path for _m, path in family.touched if path.endswith("/clip/"))
    assert family.api("GET", clip).status == 200
    coach.go(address)
    coach.press("Coaches only")
    assert family.api("GET", clip).status == 404
    assert family.api("GET", address).status == 404
