"""What a coach does who talks over the film, and what was heard, seen and kept of it."""

import numpy as np
from django.core.files.storage import default_storage
from django.db import OperationalError
from django.urls import reverse
from playwright.sync_api import expect

from devplans.talkthrough.models import TalkThrough
from tests.e2e import sounds
from tests.e2e.test_film_page import sign_in
from tests.served import wait_for

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


def in_peace(act):
    """The server's threads share the tests' own connection: a table may be read just now."""

    def done():
        try:
            act()
        except OperationalError:
            return False
        return True

    wait_for(done)


def quiet(page):
    """Nothing is asked for any more: a page that asks while tables are emptied is in the way."""
    in_peace(lambda: TalkThrough.objects.update(state="ready"))
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
