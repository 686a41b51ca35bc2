"""Enter in a field presses no button that was not meant: browsers take a form's first one."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from devplans.talkthrough.models import Suggestion
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.test_film_page import cast, no_async_guard, sign_in
from tests.talkthrough.talks import a_take, a_talk, heard, say, suggestion

__all__ = ["cast", "no_async_guard"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(browser, live_server, no_async_guard):
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    page = context.new_page()
    page.set_default_timeout(10_000)
    faults = page.faults = []

    def told(said):
        # The films have no file here, so no still either.
        if said.type == "error" and "404" not in said.text:
            faults.append(said.text)

    page.on("console", told)
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    page.wait_for_load_state("networkidle")
    context.close()
    assert faults == []


@pytest.fixture
def talk(cast):
    """One suggestion with its sound, where another player is offered too."""
    film = make.make_film(cast.squad, duration_ms=600_000, state="waiting")
    talk = a_talk(film, cast.coach, kind="whole")
    take = a_take(talk, length_ms=60_000)
    say(talk, 20, 24, "Good closeout there, shivon.", take=take)
    suggestion(
        talk, [cast.kid], start_ms=20_000, take=take, unsure=[str(cast.mate.pk)],
        said="Good closeout there, shivon.", heard=[heard("shivon", cast.mate)],
    )  # fmt: skip
    return talk


@pytest.fixture
def correcting(page, cast, talk, live_server):
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("talkthrough:correct", args=[talk.pk]))
    page.wait_for_selector("talk-correct [aria-current]")
    return page


def settled(page):
    page.locator("talk-correct").evaluate("element => element.turn")


def only(talk):
    one = Suggestion.objects.of_talk(talk).get()
    return one, list(one.players.all())


def test_a_tick_and_enter_teach_nothing_and_add_nobody(correcting, cast, talk):
    keys = correcting.keyboard
    keys.press("o")
    settled(correcting)
    expect(correcting.locator("[name^=agreed-]")).to_be_focused()
    keys.press("Space")
    keys.press("Enter")
    settled(correcting)
    one, players = only(talk)
    assert players == [cast.kid]
    assert not cast.squad.aliases.exists()
    assert one.with_voice
    # Accepting was what Enter asked for: there is no sound to cut here, and that is told.
    expect(correcting.locator(".talk-said.warn")).not_to_be_empty()
    correcting.faults[:] = [said for said in correcting.faults if "422" not in said]


def test_enter_on_a_tick_box_accepts_what_stands_there(correcting, cast, talk):
    box = correcting.locator("[name^=agreed-]")
    box.click()
    expect(box).to_be_focused()
    correcting.keyboard.press("Enter")
    expect(correcting.locator(".talk-row")).to_have_attribute("data-state", "accepted")
    one, players = only(talk)
    assert (one.state, players, one.with_voice) == ("accepted", [cast.kid], False)
    assert not cast.squad.aliases.exists()


def test_without_scripts_enter_on_a_tick_box_presses_nothing(browser, cast, talk, live_server,
                                                              no_async_guard):  # fmt: skip
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    sign_in(page, cast.coach, live_server.url)
    address = reverse("talkthrough:correct", args=[talk.pk])
    page.goto(address)
    page.locator("[name^=agreed-]").check()
    page.locator("[name^=agreed-]").press("Enter")
    page.wait_for_timeout(500)
    one, players = only(talk)
    assert (one.state, players, one.with_voice) == ("open", [cast.kid], False)
    assert talk.steps.count() == 0
    # A button that is pressed is pressed still.
    page.get_by_role("button", name="Drop").click()
    page.wait_for_url(f"**{address}#*")
    assert only(talk)[0].state == "dropped"
    context.close()


def test_enter_in_a_field_of_a_comment_keeps_the_coachs_phrases(page, cast, live_server):
    film = make.make_film(cast.squad, duration_ms=600_000)
    cast.coach.phrases.create(text="Chest in front.")
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("feedback:comment-add", args=[film.pk]))
    page.wait_for_selector("player-picker [role=combobox]")
    page.locator("[name=start_ms]").fill("0:05")
    with page.expect_navigation():
        page.locator("[name=start_ms]").press("Enter")
    assert cast.coach.phrases.count() == 1
    # It was the form that was sent: what lacks is told.
    expect(page.locator("[name=who][aria-invalid=true]")).to_have_count(1)
    page.faults[:] = [said for said in page.faults if "422" not in said]


def test_enter_on_a_players_tick_box_sends_nothing(page, cast, live_server):
    film = make.make_film(cast.squad, duration_ms=600_000)
    comment = make.make_comment(film, cast.coach, [cast.kid])
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("feedback:check", args=[film.pk]))
    box = page.locator("[name=players]")
    box.press("Space")
    box.press("Space")
    box.press("Enter")
    page.wait_for_timeout(500)
    comment.refresh_from_db()
    assert comment.sent_at is None
    assert page.url.endswith("/check/")
    box.press("Escape")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("s")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sent/")
