"""A phone in a gym without a connection: what is logged is there again, and arrives once."""

import re
from random import Random
from uuid import UUID

import pytest
from playwright.sync_api import expect

from tests.e2e import clubs, steps
from tests.e2e.carried import Carried
from tests.film import films
from tests.served import wait_for
from tests.workouts.handset import asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]
A_WHILE_MS = 30_000
FIVE = "five-spot-shooting"
ROWS = asked_of_outbox("getAll")
CACHES = "caches.keys()"
INSTALLED = """async () => {
  const manifest = await (await fetch(document.querySelector("link[rel=manifest]").href)).json();
  const { active } = await navigator.serviceWorker.ready;
  return [manifest.display, new URL(active.scriptURL).pathname, active.state];
}"""


@pytest.fixture
def club(portal):
    return clubs.seed(portal)


class Gym:
    """One player's phone; what the server holds is asked for with the coach's session."""

    def __init__(self, person, club, phone=None):
        self.person, self.club = person, club
        self.kid = club.players["kid"]
        self.coach = person().sign_in(club.emails["coach"])
        self.phone = (phone or person(on="phone")).sign_in(club.emails["kid"])

    @property
    def page(self):
        return self.phone.page

    @property
    def log_path(self):
        return f"/workouts/of/{self.kid}/log/"

    def install(self):
        """Once with a connection: the phone has everything that it needs."""
        self.phone.go("/today/")
        self.page.wait_for_selector(
            "portal-offline[data-kept]", state="attached", timeout=A_WHILE_MS
        )
        names = self.page.evaluate(CACHES)
        assert any(name.startswith("static-") for name in names), names
        assert any(name.startswith("pages-") for name in names), names
        assert self.page.evaluate(INSTALLED) == ["standalone", "/sw.js", "activated"]

    def cut(self):
        self.phone.context.set_offline(True)

    def connect(self):
        self.phone.context.set_offline(False)

    def log(self, page=None):
        (page or self.page).goto(f"{self.log_path}?drill={FIVE}")
        expect((page or self.page).locator("[data-part=count]")).to_be_visible()

    def tap(self, name, times=1, page=None):
        button = (page or self.page).locator(f"workout-log button[data-do={name}]:visible").first
        for _ in range(times):
            button.tap()

    def kept(self):
        return self.page.evaluate(ROWS)

    def held(self):
        """The player's workouts on the server."""
        answer = self.coach.api("GET", f"/api/v1/workouts/?player={self.kid}")
        assert answer.status == 200
        return answer.json()["results"]

    def wait_until_held(self, **wanted):
        def right():
            found = self.held()
            return found if sums(found) == wanted else None

        return wait_for(right)

    def finish(self):
        self.tap("to-finish")
        self.page.get_by_label("Minutes").fill("35")
        self.page.locator("[name=effort][value='6']").locator("..").tap()
        self.page.locator("[name=hurts][value=no]").locator("..").tap()
        self.page.get_by_role("button", name="Save the workout").tap()

    def line(self, page=None):
        return (page or self.page).locator("unsent-line [data-line=count]")

    def forgive(self):
        """Without a connection the browser writes down each thing that did not come."""
        lost = re.compile(r"ERR_(INTERNET_DISCONNECTED|FAILED|ABORTED)")
        self.phone.faults[:] = [fault for fault in self.phone.faults if not lost.search(fault)]


def sums(workouts):
    sets = [one for workout in workouts for one in workout["sets"]]
    shots = [one for workout in workouts for one in workout["shots"]]
    keys = [one["id"] for one in [*sets, *shots, *workouts]]
    assert len(keys) == len(set(keys))
    return {
        "workouts": len(workouts),
        "sets": len(sets),
        "shots": len(shots),
        "made": sum(one["made"] or 0 for one in sets),
        "tried": sum(one["tried"] or 0 for one in sets),
    }


@pytest.fixture
def gym(person, club):
    opened = Gym(person, club)
    yield opened
    opened.connect()
    opened.forgive()


def test_sets_without_a_connection_arrive_once(gym):
    gym.install()
    gym.cut()
    # Opened without a connection, killed in the middle of a set, opened again.
    gym.log()
    gym.tap("made", 7)
    gym.tap("missed", 3)
    gym.tap("made", 2)
    expect(gym.page.locator("[data-part=state]")).to_contain_text("on this phone")
    gym.phone.page.close()
    gym.phone.page = gym.phone.context.new_page()
    gym.log()
    assert gym.page.locator("[data-part=rows] li .of").all_inner_texts() == ["7 of 10", "2 of 2"]
    gym.tap("missed", 8)
    expect(gym.line()).to_contain_text("1 workout on this phone is not sent yet.")
    # A second page of the same phone has it too, and goes on in it.
    second = gym.phone.context.new_page()
    gym.log(second)
    gym.tap("made", 4, page=second)
    rows = gym.page.locator("[data-part=rows] li .of")
    expect(rows).to_have_text(["7 of 10", "2 of 10", "4 of 4"])
    gym.page.get_by_role("button", name="Copy as text").tap()
    copied = gym.page.get_by_label("What is not sent, as text").input_value()
    assert "five spot shooting: 7 of 10" in copied
    assert gym.held() == []
    # The first answer is lost after the server has kept the workout.
    lost = []

    def lose(route):
        if lost:
            route.continue_()
        else:
            lost.append(route.fetch().status)
            route.abort()

    gym.phone.context.route("**/api/v1/workouts/**", lose)
    gym.connect()
    gym.wait_until_held(workouts=1, sets=3, shots=0, made=13, tried=24)
    wait_for(lambda: [one["acknowledged"] == one["revision"] for one in gym.kept()] == [True])
    assert lost == [201]
    second.close()
    gym.finish()
    gym.page.get_by_role("link", name="See the workout").wait_for()
    assert gym.kept() == []
    assert sums(gym.held()) == {"workouts": 1, "sets": 3, "shots": 0, "made": 13, "tried": 24}


def test_another_user_of_the_phone_sees_and_sends_nothing(gym):
    gym.install()
    gym.log()
    gym.cut()
    gym.tap("made", 5)
    wait_for(lambda: len(gym.kept()) == 1)
    person = gym.kept()[0]["person"]
    gym.phone.expected.add(401)
    # The cookie is somebody else's before the page of the first is gone.
    gym.phone.context.clear_cookies()
    gym.connect()
    expect(gym.line()).to_contain_text("sign in again", timeout=A_WHILE_MS)
    gym.phone.sign_in(gym.club.emails["mate"])
    gym.phone.go("/today/")
    other = gym.page.locator("body").get_attribute("data-person")
    assert UUID(other) != UUID(person)
    gym.page.wait_for_selector("portal-offline[data-kept]", state="attached", timeout=A_WHILE_MS)
    assert f"pages-{person}" not in gym.page.evaluate(CACHES)
    expect(gym.page.locator("unsent-line")).to_be_hidden()
    assert gym.held() == []
    assert [one["person"] for one in gym.kept()] == [person]
    # Not even by way of a page of the first that is still open.
    answer = gym.page.evaluate(
        "key => fetch(`/api/v1/workouts/${key}/`, {headers: {'X-Person': key}})"
        ".then((a) => a.status)",
        person,
    )
    assert answer == 401
    # The first signs in again: nothing is lost.
    gym.phone.context.clear_cookies()
    gym.phone.sign_in(gym.club.emails["kid"])
    gym.phone.go("/today/")
    gym.wait_until_held(workouts=1, sets=1, shots=0, made=5, tried=5)


def test_signing_out_leaves_no_page_on_the_phone(gym):
    gym.install()
    gym.phone.press("Sign out")
    wait_for(
        lambda: not [n for n in gym.page.evaluate(CACHES) if n.startswith(("pages-", "clips-"))]
    )
    gym.cut()
    gym.phone.go("/today/")
    assert "This page is not on this phone." in gym.phone.text()


def on_the_court(gym, page, sets, *, made, x_mm=-3000, y_mm=3000):
    """Sets of ten with a place each, the last of them killed within its last tap."""
    page.get_by_label("on the court").check()
    court = page.locator("[data-part=court] svg")
    court.scroll_into_view_if_needed()
    box = court.bounding_box()
    left, top, width, depth = map(float, court.get_attribute("viewBox").split())
    x = box["x"] + (x_mm - left) / width * box["width"]
    page.touchscreen.tap(x, box["y"] + (y_mm - top) / depth * box["height"])
    for _ in range(sets):
        gym.tap("made", made, page=page)
        gym.tap("missed", 10 - made, page=page)


# Nine taps as fast as a thumb can, and what the page may say that it has kept.
HASTE = """async (name) => {
  const scripts = performance.getEntriesByType("resource").map((one) => one.name);
  const address = scripts.find((one) => /\\/workouts\\/outbox[.\\w]*\\.js$/.test(one));
  const { outbox } = await import(address);
  const button = document.querySelector(`workout-log button[data-do=${name}]`);
  let tapped = 0;
  const timer = setInterval(() => {
    button.click();
    const taps = tapped += 1;
    outbox.settled().then((isKept) => isKept && console.log(`kept ${taps}`));
    if (taps === 9) clearInterval(timer);
  }, 25);
}"""


def killed_mid_tap(gym, chance, rows_before):
    """Misses in haste until the browser dies; what is there again, in flight mode."""
    told = [0]

    def heard(line):
        if line.text.startswith("kept "):
            told.append(int(line.text.split()[1]))

    gym.page.on("console", heard)
    gym.page.evaluate(HASTE, "missed")
    gym.page.wait_for_timeout(chance.uniform(40, 260))
    gym.phone.kill()
    gym.phone.open(offline=True)
    gym.log()
    rows = gym.page.locator("[data-part=rows] li .of")
    shown = rows.all_inner_texts()[rows_before]
    kept = 0 if shown == "–" else int(shown.split()[-1])
    assert max(told) <= kept <= 9, (told, shown)
    return kept


@pytest.fixture
def carried_gym(person, club, browser, chromium, portal, tmp_path):
    phone = Carried(browser, chromium, portal.address, tmp_path / "profile")
    opened = Gym(person, club, phone)
    yield opened
    opened.forgive()
    phone.close()
    assert phone.faults == []


@pytest.mark.soak
@pytest.mark.timeout(600)
def test_forty_sets_and_sixty_shots_through_kills_and_an_expired_session(carried_gym):
    gym, chance = carried_gym, Random(40)
    gym.install()
    gym.phone.put_away(offline=True)
    gym.log()
    for _ in range(16):
        gym.page.locator("[data-do=whole][data-count='7']").tap()
    gym.tap("missed", 10 - killed_mid_tap(gym, chance, 16))
    gym.finish()
    expect(gym.page.locator("[data-part=state]")).to_contain_text("Sets kept on this phone: 17")
    # The next workout, while the first still waits.
    gym.log()
    for _ in range(16):
        gym.page.locator("[data-do=whole][data-count='6']").tap()
    gym.tap("missed", 10 - killed_mid_tap(gym, chance, 16))
    on_the_court(gym, gym.page, 5, made=4)
    kept = killed_mid_tap(gym, chance, 22)
    # A second page goes on with the same shots.
    second = gym.phone.context.new_page()
    gym.log(second)
    on_the_court(gym, second, 0, made=0)
    gym.tap("missed", 10 - kept, page=second)
    expect(gym.page.locator("[data-part=rows] li .of").nth(22)).to_have_text("0 of 10")
    second.close()
    expect(gym.line()).to_contain_text("2 workouts on this phone are not sent yet.")
    assert gym.held() == []
    # The session ends meanwhile; then one answer is lost.
    gym.phone.context.clear_cookies(name="sessionid")
    lost = []

    def lose(route):
        if lost or route.request.method != "PUT":
            route.continue_()
            return
        answer = route.fetch()
        if answer.status == 201:
            lost.append(answer.status)
            route.abort()
        else:
            route.fulfill(response=answer)

    gym.phone.context.route("**/api/v1/workouts/**", lose)
    gym.phone.expected.add(401)
    gym.connect()
    expect(gym.line()).to_contain_text("sign in again", timeout=A_WHILE_MS)
    assert gym.held() == []
    assert len(gym.kept()) == 2
    gym.phone.sign_in(gym.club.emails["kid"])
    gym.phone.go("/today/")
    made = 16 * 7 + 16 * 6 + 5 * 4
    gym.wait_until_held(workouts=2, sets=40, shots=60, made=made, tried=400)
    assert (lost, gym.phone.kills) == ([201], 3)
    wait_for(lambda: [one["acknowledged"] == one["revision"] for one in gym.kept()] == [True])
    expect(gym.page.locator("unsent-line")).to_be_hidden()


@pytest.mark.soak
@pytest.mark.timeout(600)
def test_twelve_kills_lose_no_tap_that_was_told_as_kept(carried_gym):
    gym, chance = carried_gym, Random(12)
    gym.install()
    gym.phone.put_away(offline=True)
    gym.log()
    for number in range(12):
        gym.tap("missed", 10 - killed_mid_tap(gym, chance, number))
    assert gym.phone.kills == 12
    gym.connect()
    gym.wait_until_held(workouts=1, sets=12, shots=0, made=0, tried=120)


@pytest.mark.soak
def test_todays_clip_plays_without_a_connection(gym):
    film = steps.upload(gym.coach, films.shared_film("bikes")).strip("/").rsplit("/", 1)[-1]
    body = {"players": [gym.kid], "start_ms": 3000, "end_ms": None, "skill": "closeout-technique"}
    body |= {"film": film, "verdict": "did_it", "happened": "Both feet."}
    kept = gym.coach.api("POST", "/api/v1/comments/", **body)
    assert kept.status == 201, kept.text()
    sent = gym.coach.api("POST", "/api/v1/comments/send/", comments=[kept.json()["id"]])
    assert sent.status == 200, sent.text()
    gym.phone.go("/today/")
    gym.page.wait_for_selector("clip-player video", timeout=A_WHILE_MS * 2)
    gym.install()
    assert any(name.startswith("clips-") for name in gym.page.evaluate(CACHES))
    gym.cut()
    gym.phone.go("/today/")
    video = gym.page.locator("clip-player video").element_handle()
    steps.until(video, steps.PLAYS)
