"""What coach and player do with their hands, one function per step."""

import re
from pathlib import Path

from playwright.sync_api import expect

from tests.e2e.clubs import Seeded
from tests.e2e.people import Person
from tests.served import wait_for

PLAYS = "video => !video.paused && video.videoWidth > 0 && video.currentTime > 0.2"
TO_THE_END = "video => { video.currentTime = video.duration - 0.4; }"
NEAR_THE_END = "video => video.currentTime > video.duration - 0.5"
BEGAN_AGAIN = "video => !video.paused && video.currentTime > 0 && video.currentTime < 1"
A_WHILE_MS = 60_000


def until(handle, condition: str) -> None:
    """Asked from outside: the page's policy lets nobody evaluate words inside of it."""
    wait_for(lambda: handle.evaluate(condition))


def upload(coach: Person, path: Path) -> str:
    """Send a film over a slow line; the path of its page once it is ready."""
    coach.go("/films/")
    coach.follow("Upload a film")
    coach.page.set_input_files("[name=file]", path)
    line = coach.context.new_cdp_session(coach.page)
    size = path.stat().st_size
    slow = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": size / 4}
    line.send("Network.emulateNetworkConditions", slow)
    coach.page.get_by_role("button", name="Upload", exact=True).click()
    coach.page.wait_for_url("**/films/*-*/", timeout=A_WHILE_MS)
    words = coach.page.locator(".sending-words")
    expect(words).to_have_text(re.compile(r"^\d+\.\d MB of \d+\.\d MB"), timeout=A_WHILE_MS)
    line.send("Network.emulateNetworkConditions", slow | {"uploadThroughput": -1})
    # The page asks by itself until the copy is there, and takes it.
    coach.page.wait_for_selector("film-player[frames]", timeout=120_000)
    return coach.page.url.removeprefix(coach.address)


def send_film(coach: Person, path: Path, *, squad: str, title: str = "First half") -> str:
    """Send a film in one piece, as a program would; its key. The page waits for it by itself."""
    tokens = {one["name"]: one["value"] for one in coach.context.cookies()}
    file = {"name": path.name, "mimeType": "video/mp4", "buffer": path.read_bytes()}
    answer = coach.context.request.post(
        "/api/v1/films/",
        headers={"X-CSRFToken": tokens["csrftoken"], "Origin": coach.address},
        multipart={"title": title, "squad": squad, "file": file},
    )
    assert answer.status == 201, answer.text()
    return answer.json()["id"]


def coach_at_film(person, club: Seeded, path: Path) -> Person:
    """The coach of a club, at the laptop, with the page of a film open that he has sent."""
    coach = person().sign_in(club.emails["coach"])
    coach.film = send_film(coach, path, squad=club.squad)
    coach.go(f"/films/{coach.film}/")
    coach.page.wait_for_selector("film-player[data-ready]", timeout=A_WHILE_MS)
    return coach


def comment(
    coach: Person,
    *,
    second: int,
    players: str,
    skill: str,
    verdict: str,
    happened: str,
    cue: int | None = None,
) -> None:
    """One comment with nothing but the keyboard. `verdict`: the letter that goes with Alt."""
    page = coach.page
    keys = page.keyboard
    page.wait_for_selector("comment-form [name=start_ms]")
    film = page.locator("film-player").element_handle()
    until(film, "player => Boolean(player.frames)")
    film.evaluate("player => player.seek(0)")
    page.evaluate("document.activeElement.blur()")
    for _ in range(second):
        keys.press("ArrowRight")
    keys.press("c")
    moment = page.locator("comment-form [name=start_ms]")
    expect(moment).to_have_value(re.compile(rf"^0:0({second}\.000|{second - 1}\.[89]\d\d)$"))
    expect(page.locator("comment-form [name=who]")).to_be_focused()
    # Frames of a phone come when they like; the moment is meant to the millisecond.
    if moment.input_value() != f"0:0{second}.000":
        moment.fill(f"0:0{second}.000")
        page.locator("comment-form [name=who]").focus()
    keys.type(players)
    keys.press("Enter")
    expect(page.locator("comment-form .chip")).to_have_count(len(players.split()))
    keys.press("Enter")
    expect(page.locator("comment-form [name=skill]")).to_be_focused()
    keys.type(skill)
    keys.press("Enter")
    keys.press(f"Alt+{verdict}")
    page.locator("comment-form [name=happened]").focus()
    keys.type(happened)
    if cue:
        expect(page.locator("comment-form .cue").nth(cue - 1)).to_be_visible()
        keys.press(f"Alt+{cue}")
    still = page.locator("comment-form [data-still]").element_handle()
    until(still, "image => image.complete && image.naturalWidth > 0")
    keys.press("Alt+Enter")
    expect(page.locator("comment-form .comment-said")).to_have_text("Kept as a draft.")
    expect(page.locator("comment-list")).to_contain_text(happened.split()[0])


def watch(player: Person) -> None:
    """*Today*: the clip is there by itself, plays, and begins again at its end."""
    page = player.page
    player.go("/today/")
    page.wait_for_selector("clip-player video", timeout=A_WHILE_MS)
    video = page.locator("clip-player video").element_handle()
    until(video, PLAYS)
    before = video.evaluate("video => video.currentTime")
    until(video, f"video => video.currentTime > {before} + 0.3")
    video.evaluate(TO_THE_END)
    until(video, NEAR_THE_END)
    until(video, BEGAN_AGAIN)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= 390, f"the page is {width} px wide on a phone"


def log_five_spots(player: Person, player_id: str, *, made: int, missed: int, sets: int) -> None:
    """Log by tapping: a set ends by itself when it is full; then how it was."""
    page = player.page
    player.go(f"/workouts/of/{player_id}/log/")
    page.get_by_label("Find a drill").fill("five-spot")
    page.locator("[data-drill=five-spot-shooting]:visible").first.tap()
    button = {
        name: page.locator(f"workout-log button[data-do={name}]") for name in ("made", "missed")
    }
    for _ in range(sets):
        for _ in range(made):
            button["made"].tap()
        for _ in range(missed):
            button["missed"].tap()
    rows = page.locator("[data-part=rows] li", has_text=f"{made} of {made + missed}")
    expect(rows).to_have_count(sets)
    page.get_by_role("button", name="Finish workout").last.tap()
    page.get_by_label("Minutes").fill("35")
    page.locator("[name=effort][value='6']").locator("..").tap()
    page.locator("[name=hurts][value=no]").locator("..").tap()
    page.get_by_role("button", name="Save the workout").tap()
    page.get_by_role("link", name="See the workout").tap()
    page.wait_for_url("**/workouts/*-*/")
    total = rf"{made * sets} of {(made + missed) * sets}"
    assert total in player.text()
