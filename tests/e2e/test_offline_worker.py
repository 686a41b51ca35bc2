"""The worker beside the pages: new versions, pages and clips without a connection; no worker."""

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace
from urllib.parse import urlsplit
from uuid import UUID, uuid4

import pytest
from django.http import Http404, HttpResponse, HttpResponseRedirect
from playwright.sync_api import expect

from devplans.feedback.views import deliveries
from devplans.film.ranges import Part, choose
from devplans.workouts import log_page
from devplans.workouts.models import WorkoutSet
from portal.pwa import shell
from tests import cast as people
from tests import factories as make
from tests.film import films
from tests.served import wait_for
from tests.services import SWITCHES
from tests.workouts.handset import SPOTS, Phone, asked_of_outbox

pytestmark = [pytest.mark.e2e, pytest.mark.once]

A_WHILE_MS = 20_000
LAPTOP = {"viewport": {"width": 1280, "height": 800}}
MB = 1024 * 1024


@pytest.fixture
def cast(transactional_db):
    found = people.build()
    make.make_drill(slug="spots", name="Five spots", **SPOTS)
    return found


@pytest.fixture
def open_phone(cast, live_server, browser):
    opened = []

    def one(user=None, address="", **more):
        phone = Phone(browser, address or live_server.url, cast, user=user, **more)
        opened.append(phone)
        return phone

    yield one
    for phone in opened:
        phone.context.close()
    assert [fault for phone in opened for fault in phone.faults] == []


def go(phone, path):
    phone.page.goto(phone.address + path)


def kept(phone):
    phone.page.wait_for_selector("portal-offline[data-kept]", state="attached", timeout=A_WHILE_MS)


# --- a new version ---


def test_a_new_version_waits_until_somebody_takes_it(open_phone, cast, monkeypatch):
    phone = open_phone()
    phone.log("spots")
    kept(phone)
    line = phone.page.get_by_text("A new version of the portal is ready.")
    phone.page.reload()
    expect(line).to_be_hidden()
    before = static_caches(phone)
    newer = shell.files() | {"/static/portal/mark.svg": "another"}
    monkeypatch.setattr(shell, "files", lambda: newer)
    phone.page.reload()
    expect(line).to_be_visible(timeout=A_WHILE_MS)
    # Nothing changes under the hands: the old one goes on with its own files, also in flight mode.
    assert before < static_caches(phone)
    phone.tap("made", 2)
    phone.context.set_offline(True)
    phone.page.reload()
    expect(phone.page.locator("[data-part=rows] li .of")).to_have_text(["2 of 2"])
    expect(line).to_be_visible()
    phone.context.set_offline(False)
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Use it now").tap()
    expect(phone.page.locator("[data-part=rows] li .of")).to_have_text(["2 of 2"])
    expect(line).to_be_hidden()
    wait_for(lambda: len(static_caches(phone)) == 1)
    assert static_caches(phone).isdisjoint(before)


def static_caches(phone):
    return {one for one in phone.page.evaluate("caches.keys()") if one.startswith("static-")}


# --- pages without a connection ---


def test_a_players_pages_open_without_a_connection_on_a_laptop_too(open_phone, cast):
    """Opened once, in a browser that has never seen the portal."""
    laptop = open_phone(**LAPTOP)
    kid = cast.kid.pk
    paths = [f"/goals/work/{kid}/", f"/workouts/of/{kid}/log/", f"/workouts/of/{kid}/shots/"]
    go(laptop, paths[0])
    kept(laptop)
    for path in paths[1:]:
        go(laptop, path)
        laptop.page.wait_for_load_state("networkidle")
    laptop.context.set_offline(True)
    for path in paths:
        go(laptop, path)
        assert laptop.page.get_by_role("heading", level=1).first.inner_text() != "No connection"
        assert urlsplit(laptop.page.url).path == path
    laptop.log("spots")
    laptop.page.get_by_label("on the court").check()
    laptop.page.locator("[data-part=court] svg").click(position={"x": 160, "y": 60})
    laptop.page.locator("workout-log button[data-do=made]").click()
    expect(laptop.page.locator("[data-part=rows] li .of")).to_have_text(["1 of 1"])
    laptop.context.set_offline(False)
    laptop.says("Saved.")
    assert WorkoutSet.objects.get().shots.count() == 1


def test_a_coach_counts_a_group_without_a_connection(open_phone, cast):
    """The group page was opened once; who is at the basket is chosen in the hall, out of a squad
    of more than are counted at once."""
    for _ in range(log_page.MOST_AT_ONE_BASKET):
        make.make_player(squad=cast.squad)
    phone = open_phone(cast.coach)
    group = f"/workouts/squads/{cast.squad.pk}/log/"
    go(phone, group)
    kept(phone)
    phone.context.set_offline(True)
    go(phone, group)
    for player in (cast.kid, cast.mate):
        phone.page.get_by_label(player.full_name).check()
    phone.page.get_by_role("button", name="Begin to count").tap()
    phone.page.locator("[data-family] summary").first.tap()
    phone.page.locator("[data-drill=spots]:visible").tap()
    for player, button, times in ((cast.kid, "made", 3), (cast.mate, "missed", 2)):
        phone.page.locator(".turn .pick", has_text=player.first_name).tap()
        phone.tap(button, times)
    # No one else of the squad stands in the way.
    expect(phone.page.locator(".turn .pick")).to_have_count(2)
    assert phone.page.locator("[data-hurts][value=yes]").count() == 2
    # Its own address opens again, with what was counted.
    phone.page.reload()
    counted = {
        name: phone.page.locator(".turn .pick", has_text=name).locator(".of")
        for name in (cast.kid.first_name, cast.mate.first_name)
    }
    expect(counted[cast.kid.first_name]).to_have_text("3 of 3")
    expect(counted[cast.mate.first_name]).to_have_text("0 of 2")
    phone.context.set_offline(False)
    wait_for(lambda: WorkoutSet.objects.count() == 2)
    found = WorkoutSet.objects.values_list("workout__player", "made", "tried")
    assert set(found) == {(cast.kid.pk, 3, 3), (cast.mate.pk, 0, 2)}


def test_the_same_players_in_another_order_are_the_same_page(open_phone, cast):
    phone = open_phone(cast.coach)
    group = f"/workouts/squads/{cast.squad.pk}/log/"
    one, other = (f"player={player.pk}" for player in (cast.kid, cast.mate))
    go(phone, f"{group}?{one}&{other}")
    kept(phone)
    phone.context.set_offline(True)
    go(phone, f"{group}?{other}&{one}")
    expect(phone.page.locator("[name=turn]")).to_have_count(2)
    stranger = uuid4()
    go(phone, f"{group}?player={stranger}")
    assert "This page is not on this phone." in phone.page.inner_text("main")


# --- no https ---


@pytest.fixture
def in_the_hall(browser, chromium, live_server, settings, cast):
    """The portal under another name and without https, as a club's own machine may be reached."""
    settings.ALLOWED_HOSTS = ["*"]
    rules = "--host-resolver-rules=MAP gym.example localhost"
    launched = browser.browser_type.launch(executable_path=chromium, args=[*SWITCHES, rules])
    yield Phone(launched, f"http://gym.example:{urlsplit(live_server.url).port}", cast)
    launched.close()


def test_without_https_the_page_says_so_and_the_log_works(in_the_hall, cast):
    phone = in_the_hall
    phone.log("spots")
    assert phone.page.evaluate("[isSecureContext, 'locks' in navigator]") == [False, False]
    banner = phone.page.get_by_text("This page came without https")
    expect(banner).to_be_visible()
    phone.tap("made", 3)
    phone.says("Saved.")
    assert WorkoutSet.objects.get().made == 3
    # Without a connection it stays on the phone, over the page's end as well, and goes out later.
    phone.context.set_offline(True)
    phone.tap("missed", 2)
    phone.says("No connection.")
    wait_for(lambda: [row["dirty"] or row["body"]["revision"] > 1 for row in rows(phone)] == [True])
    phone.page.close()
    phone.context.set_offline(False)
    phone.page = phone.context.new_page()
    phone.log("spots")
    expect(phone.page.locator("[data-part=rows] li .of")).to_have_text(["3 of 5"])
    phone.says("Saved.")
    wait_for(lambda: WorkoutSet.objects.get().tried == 5)
    assert [fault for fault in phone.faults if "Cross-Origin-Opener-Policy" not in fault] == []


def rows(phone):
    return phone.page.evaluate(asked_of_outbox("getAll"))


# --- kept clips ---


class Clips:
    """Deliveries of which only the clips are there, each as large as is wanted."""

    def __init__(self, monkeypatch):
        self.sizes, self.asked, self.bucket = {}, [], ""
        monkeypatch.setattr(deliveries, "seen_delivery", self.found)
        monkeypatch.setattr(deliveries.reading, "newest_clip", lambda comment: comment)
        monkeypatch.setattr(deliveries, "serve_file", self.serve)

    def make(self, *sizes):
        keys = [uuid4() for _ in sizes]
        self.sizes |= dict(zip(keys, sizes, strict=True))
        return [f"/feedback/deliveries/{key}/clip/" for key in keys]

    def found(self, _request, key: UUID):
        if key not in self.sizes:
            raise Http404
        clip = SimpleNamespace(pk=key, version=1, video_key=str(key))
        return SimpleNamespace(has_clip=True, comment=clip)

    def serve(self, request, key, **_more):
        self.asked.append((request.method, key))
        if self.bucket:
            return HttpResponseRedirect(f"{self.bucket}/{key}")
        return HttpResponse(b"0" * self.sizes[UUID(key)], content_type="video/mp4")

    def close(self, path):
        del self.sizes[UUID(path.split("/")[-3])]


KEEP = """async ([paths, person]) => {
  const { active } = await navigator.serviceWorker.ready;
  const heard = new MessageChannel();
  const done = new Promise((resolve) => { heard.port1.onmessage = resolve; });
  const clips = paths.map((path) => ({ path, version: "1" }));
  active.postMessage({ keep: { pages: [], clips, person } }, [heard.port2]);
  await done;
  const cache = await caches.open(`clips-${person}`);
  return (await cache.keys()).map((request) => new URL(request.url).pathname);
}"""


@pytest.fixture
def clips(monkeypatch):
    return Clips(monkeypatch)


def keep_clips(phone, paths):
    return phone.page.evaluate(KEEP, [paths, str(phone.cast.player.pk)])


def test_kept_clips_go_from_sixty_megabytes_on_the_oldest_first_never_todays(open_phone, clips):
    phone = open_phone()
    phone.log("spots")
    kept(phone)
    early = clips.make(10 * MB, 10 * MB, 10 * MB)
    assert keep_clips(phone, early) == early
    late = clips.make(14 * MB, 14 * MB)
    # 58 MB: everything has room, also what is not today's any more.
    assert set(keep_clips(phone, late)) == {*early, *late}
    today = clips.make(9 * MB)
    assert set(keep_clips(phone, [*late, *today])) == {*early[1:], *late, *today}
    # 60 MB are today's alone: all others go, and what has no room is not kept; of today none goes.
    more = clips.make(14 * MB, 14 * MB, 16 * MB, 9 * MB, 5 * MB)
    found = set(keep_clips(phone, [*late, *today, *more]))
    assert found == {*late, *today, more[0], more[3]}
    # What was kept once is not asked for again.
    before = len(clips.asked)
    keep_clips(phone, [*late, *today])
    assert {method for method, _key in clips.asked[before:]} == {"HEAD"}
    # What may not be shown any more goes, at the next look or when it is asked for.
    clips.close(more[0])
    assert more[0] not in keep_clips(phone, [*late, *today])
    clips.close(today[0])
    phone.page.evaluate("path => fetch(path)", today[0])
    assert today[0] not in phone.page.evaluate(
        "async (person) => (await (await caches.open(`clips-${person}`)).keys())"
        ".map((request) => new URL(request.url).pathname)",
        str(phone.cast.player.pk),
    )


class Bucket(BaseHTTPRequestHandler):
    """Another origin with one clip, as a bucket's short-lived link leads to it."""

    def do_GET(self):
        body = self.server.body
        part = choose(len(body), self.headers.get("Range"), method="GET")
        is_part = isinstance(part, Part)
        sent = body[part.first : part.last + 1] if is_part else body
        self.server.seen.append(dict(self.headers))
        self.send_response(206 if is_part else 200)
        self.send_header("Content-Type", "video/mp4")
        self.send_header("Content-Length", str(len(sent)))
        self.send_header("Accept-Ranges", "bytes")
        if is_part:
            self.send_header("Content-Range", part.content_range(len(body)))
        if self.server.is_open:
            self.send_header("Access-Control-Allow-Origin", "*")
        self.end_headers()
        self.wfile.write(sent)

    def log_message(self, *_words):
        pass


@pytest.fixture
def bucket(clips, settings):
    server = ThreadingHTTPServer(("127.0.0.1", 0), Bucket)
    server.body, server.seen, server.is_open = films.shared_film("bikes").read_bytes(), [], False
    threading.Thread(target=server.serve_forever, daemon=True).start()
    clips.bucket = f"http://127.0.0.1:{server.server_port}"
    named = settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]
    more = {kind: [*named[kind], clips.bucket] for kind in ("media-src", "connect-src")}
    settings.CONTENT_SECURITY_POLICY = {"DIRECTIVES": named | more}
    yield server
    server.shutdown()
    server.server_close()


PLAY = """path => new Promise((resolve) => {
  const video = document.createElement("video");
  video.muted = true;
  video.src = path;
  video.addEventListener("loadeddata", () => resolve("plays"), { once: true });
  video.addEventListener("error", () => resolve("fails"), { once: true });
  document.querySelector("main").append(video);
})"""


def test_clips_from_a_bucket_are_kept_only_where_it_lets_pages_read(open_phone, clips, bucket):
    phone = open_phone()
    phone.log("spots")
    kept(phone)
    phone.page.reload()
    shut, other, opened = clips.make(1, 1, 1)
    # Closed to our pages: not kept, and it plays with a connection all the same.
    assert keep_clips(phone, [shut, other]) == []
    assert phone.page.evaluate(PLAY, shut) == "plays"
    phone.faults[:] = [fault for fault in phone.faults if "blocked by CORS" not in fault]
    bucket.is_open = True
    assert keep_clips(phone, [opened]) == [opened]
    assert phone.page.evaluate(PLAY, opened) == "plays"
    # Nothing tells the bucket whose phone it is.
    assert not [one for headers in bucket.seen for one in headers if one.lower() == "x-person"]
    phone.context.set_offline(True)
    assert phone.page.evaluate(PLAY, opened) == "plays"
    assert phone.page.evaluate(PLAY, other) == "fails"
