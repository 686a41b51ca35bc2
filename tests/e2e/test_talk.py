"""Talking over the film with a microphone that plays a file: nothing that was said is lost."""

import json
import re
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from playwright.sync_api import expect

from devplans.feedback.voices.log import read_log
from devplans.talkthrough import speech, tasks
from devplans.talkthrough.models import TalkPiece, TalkThrough
from tests import factories as make
from tests.e2e import sounds
from tests.e2e.conftest import SWITCHES
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.test_film_page import cast, no_async_guard, ready_film, sign_in
from tests.film import films
from tests.served import wait_for

__all__ = ["cast", "no_async_guard"]
pytestmark = [pytest.mark.e2e, pytest.mark.soak, pytest.mark.django_db(transaction=True)]
LOOP_S = 40
A_WHILE_MS = 30_000
# What the microphone gives, and where the film is, noted beside the page's own clock.
LISTEN_IN = """
const open = navigator.mediaDevices?.getUserMedia?.bind(navigator.mediaDevices);
if (open) navigator.mediaDevices.getUserMedia = async (wish) => {
  const stream = await open(wish);
  const context = new AudioContext({ sampleRate: 16000 });
  const analyser = new AnalyserNode(context, { fftSize: 16384 });
  context.createMediaStreamSource(stream).connect(analyser);
  window.heardNow = () => {
    const samples = new Float32Array(analyser.fftSize);
    analyser.getFloatTimeDomainData(samples);
    return { at: performance.now(), samples: [...samples], state: context.state };
  };
  return stream;
};
"""
NOTE_FILM = """() => {
  const player = document.querySelector("film-player");
  const { video } = player;
  window.seen = [];
  const frame = (_, { mediaTime, expectedDisplayTime }) => {
    if (!video.seeking) seen.push([expectedDisplayTime, mediaTime * 1000]);
    video.requestVideoFrameCallback(frame);
  };
  video.requestVideoFrameCallback(frame);
  setInterval(() => {
    if (video.paused && !video.seeking) seen.push([performance.now(), player.currentMs()]);
  }, 100);
}"""
BEGAN = "talk => talk.take.recorder.beganAt"


@pytest.fixture(scope="module")
def voice():
    return sounds.tones(LOOP_S)


@pytest.fixture(scope="module")
def browser(chromium, voice, tmp_path_factory):
    from playwright.sync_api import sync_playwright

    path = sounds.write_wav(tmp_path_factory.mktemp("voice") / "voice.wav", voice)
    microphone = [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={path}",
        "--autoplay-policy=no-user-gesture-required",
    ]
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(
            executable_path=chromium, args=[*SWITCHES, *microphone]
        )
        yield launched
        launched.close()


@pytest.fixture
def rung(monkeypatch):
    """The keys of talks that are to be written down; that itself is tested elsewhere."""
    rung = []
    bell = SimpleNamespace(delay_on_commit=rung.append)
    monkeypatch.setattr(tasks, "write_down", bell)
    monkeypatch.setattr(tasks, "hear_so_far", SimpleNamespace(delay_on_commit=[].append))
    monkeypatch.setattr(speech, "available", lambda: True)
    return rung


@pytest.fixture
def context(browser, live_server, no_async_guard, rung):
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    context.add_init_script(LISTEN_IN)
    faults = []
    context.on("weberror", lambda error: faults.append(str(error.error)))
    context.on(
        "console",
        lambda said: (
            faults.append(said.text)
            if said.type == "error" and "net::ERR" not in said.text
            else None
        ),
    )
    yield context
    assert faults == []
    context.close()


@pytest.fixture
def film(cast, tmp_path):
    """Forty seconds of numbered pictures."""
    kind = films.Kind(
        "long", films.steady(1000), Fraction(1, 25), options={"g": "25", "preset": "veryfast"}
    )
    return ready_film(cast.squad, films.write(tmp_path, kind))


def opened(context, live_server, user, film):
    page = context.new_page()
    page.set_default_timeout(20_000)
    sign_in(page, user, live_server.url)
    page.goto(reverse("film:detail", args=[film.pk]))
    return at_hand(page)


def at_hand(page):
    page.wait_for_selector("film-player[data-ready]")
    page.wait_for_selector("talk-over[data-state]")
    page.wait_for_selector("comment-form [name=start_ms]")
    page.evaluate("document.activeElement.blur()")
    return page


def state(page, name):
    expect(page.locator("talk-over")).to_have_attribute("data-state", name, timeout=A_WHILE_MS)


def ask(page, words):
    return page.locator("talk-over").evaluate(words)


def all_sent(page):
    expect(page.locator("[data-part=unsent]")).to_be_hidden(timeout=A_WHILE_MS)


def sound_of(take):
    content = b""
    for piece in take.pieces.order_by("number"):
        with default_storage.open(piece.key) as file:
            content += file.read()
    return sounds.decoded(content)


def without_gaps(sound, voice):
    """Second by second it lies in what the microphone played, one after the other."""
    twice = np.concatenate([voice, voice])
    first, _alike = sounds.place_of(sound[8_000:24_000], twice)
    off = []
    for second in range(1, len(sound) // sounds.RATE):
        piece = sound[second * sounds.RATE : (second + 1) * sounds.RATE]
        place, alike = sounds.place_of(piece, twice)
        assert alike > 0.6, (second, alike)
        expected = (first - 0.5 + second) % LOOP_S
        off.append((place % LOOP_S - expected + LOOP_S / 2) % LOOP_S - LOOP_S / 2)
    assert max(map(abs, off)) < 0.03, off
    return off


def quiet(page):
    """Nothing is asked for any more: a page that asks while tables are emptied is in the way."""
    TalkThrough.objects.update(state="ready")
    for row in page.locator("talk-heard").all():
        expect(row).to_have_attribute("data-state", "ready", timeout=A_WHILE_MS)


def pause_ms(page, ms):
    page.wait_for_timeout(ms)


def rehearse(page):
    """Plays, stops, draws, goes back, slows down and plays on; what was heard at four moments."""
    heard_at = []
    page.evaluate(NOTE_FILM)
    page.keyboard.press("Space")
    pause_ms(page, 3000)
    heard_at.append(page.evaluate("heardNow()"))
    page.keyboard.press("Space")
    pause_ms(page, 600)
    box = page.locator(".talk-layer").bounding_box()
    at = [(box["x"] + box["width"] * x, box["y"] + box["height"] * y) for x, y in STROKE]
    page.mouse.move(*at[0])
    page.mouse.down()
    for place in at[1:]:
        page.mouse.move(*place, steps=8)
    page.mouse.up()
    heard_at.append(page.evaluate("heardNow()"))
    pause_ms(page, 500)
    page.keyboard.press("y")
    for key in ("ArrowLeft", "ArrowLeft", "s", "s", "Space"):
        page.keyboard.press(key)
        pause_ms(page, 150)
    pause_ms(page, 3000)
    heard_at.append(page.evaluate("heardNow()"))
    page.keyboard.press("a")
    pause_ms(page, 1500)
    page.keyboard.press("Space")
    pause_ms(page, 300)
    heard_at.append(page.evaluate("heardNow()"))
    return heard_at


STROKE = [(0.2, 0.3), (0.5, 0.6), (0.8, 0.3)]


def clock_is_right(heard_at, began, sound):
    """What the microphone gave at a time of the page's clock lies there in the sound that was
    kept; milliseconds off."""
    off = []
    for one in heard_at:
        # The last half second of what the analyser had.
        piece = np.array(one["samples"][-8_000:], dtype=np.float32)
        place, alike = sounds.place_of(piece, sound)
        assert alike > 0.6, alike
        off.append(round((place + 0.5) * 1000 - (one["at"] - began)))
    return off


def film_is_right(log, seen, began, length_ms):
    """Where the log says that the film was, against what was noted; milliseconds off."""
    off = []
    for at, film_ms in seen:
        sound_ms = at - began
        if 0 <= sound_ms < length_ms:
            off.append(log.film_at(round(sound_ms)) - film_ms)
    return off


def test_nothing_of_a_talk_through_is_lost(context, live_server, cast, film, voice, rung):
    page = opened(context, live_server, cast.coach, film)
    page.keyboard.press("q")
    state(page, "recording")
    began = ask(page, BEGAN)
    heard_at = rehearse(page)
    seen = page.evaluate("seen")

    context.set_offline(True)
    pause_ms(page, 7000)
    expect(page.locator("[data-part=unsent]")).to_contain_text("No connection")
    expect(page.locator("[data-part=unsent]")).to_contain_text(re.compile(r"\d+ s not sent yet"))
    context.set_offline(False)
    all_sent(page)

    pause_ms(page, 1500)
    said_ms = ask(page, "talk => talk.take.recorder.ms()")
    page.reload()
    at_hand(page)
    state(page, "stopped")
    expect(page.locator("[data-part=said]")).to_contain_text(re.compile(r"0:\d\d said"))
    page.get_by_role("button", name="Go on").click()
    state(page, "recording")
    pause_ms(page, 4200)
    second_ms = ask(page, "talk => talk.take.recorder.ms()")
    page.keyboard.press("Escape")
    state(page, "stopped")
    page.get_by_role("button", name="That was all").click()
    state(page, "idle")
    talk = TalkThrough.objects.get()
    wait_for(lambda: rung == [str(talk.pk)])
    all_sent(page)
    quiet(page)

    first, second = talk.takes.order_by("number")
    sound = sound_of(first)
    length_ms = 1000 * len(sound) / sounds.RATE
    print("said until the reload", said_ms, "kept", length_ms)
    assert said_ms - 250 < length_ms
    assert abs(first.length_ms - length_ms) < 400
    gaps = without_gaps(sound, voice)
    again = sound_of(second)
    assert second_ms - 100 < 1000 * len(again) / sounds.RATE < second_ms + 1000
    without_gaps(again, voice)
    log = read_log(first.log)
    clock_off = clock_is_right(heard_at, began, sound)
    film_off = film_is_right(log, seen, began, length_ms)
    print("sound off by", [round(1000 * one) for one in gaps], "clock off by", clock_off)
    print("film off by", np.percentile(np.abs(film_off), [50, 95, 99, 100]), len(film_off))
    print(json.dumps(first.log))
    assert max(map(abs, clock_off)) < 150
    assert np.percentile(np.abs(film_off), 99) + max(map(abs, clock_off)) < 150
    assert {0, 1, 0.5} <= {stretch.rate for stretch in log.stretches}
    [stroke] = log.strokes
    assert stroke.gone_ms is not None
    points = stroke.shape["points"]
    for mine, theirs in ((points[0], STROKE[0]), (points[-1], STROKE[-1])):
        assert abs(mine[0] - theirs[0]) < 0.01
        assert abs(mine[1] - theirs[1]) < 0.02


def test_a_key_that_is_held_talks_about_this_moment(context, live_server, cast, film, rung):
    page = opened(context, live_server, cast.coach, film)
    page.locator("film-player").evaluate("player => player.seek(12_000)")
    page.keyboard.down("j")
    state(page, "recording")
    pause_ms(page, 2600)
    expect(page.locator(".talk-badge")).to_contain_text("Recording 0:0")
    assert page.locator("[data-part=level]").evaluate("meter => meter.value") > 0.3
    assert page.locator("video").evaluate("video => video.muted")
    page.keyboard.up("j")
    state(page, "idle")
    assert not page.locator("video").evaluate("video => video.muted")
    wait_for(lambda: len(rung) == 1)
    talk = TalkThrough.objects.get()
    assert (talk.kind, talk.state) == ("moment", "waiting")
    [take] = talk.takes.all()
    assert read_log(take.log).film_at(1000) == 12_000
    expect(page.locator("talk-heard")).to_contain_text("Waits to be written down")
    talk.lines.create(
        place=0, start_ms=0, end_ms=900, film_start_ms=12_000, film_end_ms=12_000, text="Late."
    )
    TalkThrough.objects.filter(pk=talk.pk).update(state="ready")
    expect(page.locator("talk-heard")).to_contain_text("Late.", timeout=A_WHILE_MS)
    page.get_by_role("button", name="Put the words into the comment").click()
    expect(page.locator("comment-form [name=happened]")).to_have_value("Late.")
    expect(page.locator("comment-form [name=start_ms]")).to_have_value("0:12.000")
    page.locator("talk-heard").get_by_role("button", name="Record again").click()
    state(page, "recording")
    page.locator("film-player").focus()
    page.keyboard.press("Escape")
    state(page, "idle")
    wait_for(lambda: len(rung) == 2)
    assert TalkThrough.objects.get() != talk
    quiet(page)


def test_another_person_on_the_machine_sees_and_sends_nothing(
    context, live_server, cast, film, rung
):
    page = opened(context, live_server, cast.coach, film)
    page.keyboard.press("q")
    state(page, "recording")
    pause_ms(page, 2500)
    page.route("**/pieces/**", lambda route: route.abort())
    pause_ms(page, 3000)
    page.keyboard.press("Escape")
    state(page, "stopped")
    page.close()
    before = TalkPiece.objects.count()
    second = make.make_user("Sigrun")
    make.make_member(second, "coach", club=cast.club, squad=cast.squad)
    theirs = opened(context, live_server, second, film)
    state(theirs, "idle")
    pause_ms(theirs, 2500)
    expect(theirs.locator("[data-part=unsent]")).to_be_hidden()
    assert TalkPiece.objects.count() == before
    assert set(TalkThrough.objects.values_list("coach", flat=True)) == {cast.coach.pk}
    theirs.close()
    mine = opened(context, live_server, cast.coach, film)
    state(mine, "stopped")
    wait_for(lambda: TalkPiece.objects.count() > before)
    all_sent(mine)
    mine.once("dialog", lambda dialog: dialog.accept())
    mine.get_by_role("button", name="Throw it away").first.click()
    wait_for(lambda: not TalkThrough.objects.exists())


def test_two_tabs_send_once_and_know_of_each_other(context, live_server, cast, film, rung):
    page = opened(context, live_server, cast.coach, film)
    page.keyboard.press("q")
    state(page, "recording")
    puts = []
    context.on("request", lambda one: puts.append(one.url) if "/pieces/" in one.url else None)
    other = opened(context, live_server, cast.coach, film)
    state(other, "idle")
    pause_ms(page, 6000)
    page.bring_to_front()
    page.get_by_role("button", name=re.compile("^Stop")).click()
    state(page, "stopped")
    page.get_by_role("button", name="That was all").click()
    wait_for(lambda: len(rung) == 1)
    assert len(puts) == len(set(puts)) >= 3
    quiet(page)


WRONG = {
    "NotAllowedError": "does not let this page use the microphone",
    "NotFoundError": "No microphone was found",
    "NotReadableError": "Another program has the microphone",
}
FAILS = """name => {
  navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", name));
}"""
IS_DUMB = """() => {
  navigator.mediaDevices.getUserMedia = async () =>
    new AudioContext().createMediaStreamDestination().stream;
}"""
IS_SILENT = """() => {
  navigator.mediaDevices.getUserMedia = async () => {
    const context = new AudioContext();
    const place = context.createMediaStreamDestination();
    const nothing = new ConstantSourceNode(context, { offset: 0 });
    nothing.connect(place);
    nothing.start();
    return place.stream;
  };
}"""


def test_what_is_wrong_is_told_in_words(context, live_server, cast, film, rung):
    page = opened(context, live_server, cast.coach, film)
    trouble = page.locator("[data-part=trouble]")
    for name, words in WRONG.items():
        page.evaluate(FAILS, name)
        page.keyboard.press("q")
        expect(trouble).to_contain_text(words)
        state(page, "idle")
    page.evaluate(IS_DUMB)
    page.keyboard.press("q")
    expect(trouble).to_contain_text("gives no sound at all", timeout=A_WHILE_MS)
    state(page, "idle")
    page.evaluate(IS_SILENT)
    page.keyboard.press("q")
    state(page, "recording")
    expect(trouble).to_be_hidden()
    expect(page.locator("[data-part=silent]")).to_contain_text("is the right microphone chosen")
    page.keyboard.press("q")
    state(page, "stopped")
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Throw it away").first.click()
    state(page, "idle")
    page.evaluate("() => { delete window.MediaRecorder; }")
    page.keyboard.press("q")
    expect(trouble).to_contain_text("This browser cannot record sound")
    assert not rung


def test_a_page_that_is_not_secure_says_so(context, live_server, cast, film, rung):
    context.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });")
    page = opened(context, live_server, cast.coach, film)
    page.keyboard.press("q")
    expect(page.locator("[data-part=trouble]")).to_contain_text("on https pages only")
    state(page, "idle")
