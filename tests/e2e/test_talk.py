"""Talking over the film with a microphone that plays a file: nothing that was said is lost."""

import json
import re
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from playwright.sync_api import expect

from devplans.feedback.voices.log import read_log
from devplans.talkthrough import speech, tasks
from devplans.talkthrough.models import TalkPiece, TalkThrough
from tests import factories as make
from tests.e2e import sounds
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.talking import (
    A_WHILE_MS,
    BEGAN,
    LISTEN_IN,
    LOOP_S,
    STROKE,
    all_sent,
    ask,
    at_hand,
    clock_is_right,
    film_is_right,
    in_peace,
    opened,
    pause_ms,
    quiet,
    rehearse,
    sound_of,
    state,
    without_gaps,
)
from tests.e2e.test_film_page import cast, no_async_guard, ready_film
from tests.film import films
from tests.served import wait_for
from tests.services import SWITCHES

__all__ = ["cast", "no_async_guard"]
pytestmark = [pytest.mark.e2e, pytest.mark.soak, pytest.mark.django_db(transaction=True)]


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
    for page in context.pages:
        page.goto("about:blank")
        # What was asked for is answered before the tables are emptied.
        page.wait_for_timeout(1000)
    context.close()
    assert faults == []


@pytest.fixture
def film(cast, tmp_path):
    """Forty seconds of numbered pictures."""
    kind = films.Kind(
        "long", films.steady(1000), Fraction(1, 25), options={"g": "25", "preset": "veryfast"}
    )
    return ready_film(cast.squad, films.write(tmp_path, kind))


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
    in_peace(lambda: TalkThrough.objects.filter(pk=talk.pk).update(state="ready"))
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
    said_ms = ask(page, "talk => talk.take.recorder.ms()")
    # Gone in the middle of a word, as when the machine dies.
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
    kept_ms = 1000 * len(sound_of(TalkThrough.objects.get().takes.get())) / sounds.RATE
    print("said until the page was gone", said_ms, "kept", kept_ms)
    assert kept_ms > said_ms - 2_300
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
    wait_for(lambda: not TalkThrough.objects.exists())
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
