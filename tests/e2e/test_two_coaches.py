"""Two coaches on one film: parts, the last words, handing over, a file of comments."""

import os

import pytest
from django.conf import settings as django_settings
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from devplans.feedback import services
from devplans.feedback.models import Comment
from devplans.film.models import Possession
from tests import cast as people
from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS

pytestmark = [pytest.mark.e2e, pytest.mark.soak, pytest.mark.django_db(transaction=True)]
CUES = "WEBVTT\n\n00:03.000 --> 00:05.000\n#12 trails\n\n00:99.000 --> 01:50.000\nBroken\n"


@pytest.fixture
def room(transactional_db, monkeypatch):
    monkeypatch.setitem(os.environ, "DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    room = people.build()
    room.maren = make.make_user("Maren")
    make.make_member(room.maren, "coach", club=room.club, squad=room.squad)
    room.film = make.make_film(room.squad)
    room.skill = make.make_skill(slug="help-position", name="Help-side position")
    for start, side in ((0, "ours"), (10_000, "theirs"), (20_000, "ours")):
        Possession.objects.create(film=room.film, side=side, start_ms=start, end_ms=start + 10_000)
    said = make.make_comment(
        room.film, room.maren, [room.kid], skill=room.skill, do_instead="Low and early."
    )
    services.send_comments(actor=room.maren, comments=[said])
    return room


@pytest.fixture
def page_of(browser, live_server):
    """Opens a browser for somebody; errors of scripts and of the content policy fail the test."""
    contexts, faults = [], []

    def open_for(user, on="laptop"):
        context = browser.new_context(base_url=live_server.url, viewport=SIZES[on])
        contexts.append(context)
        context.add_init_script(TELL_VIOLATIONS)
        client = Client()
        client.force_login(user)
        name = django_settings.SESSION_COOKIE_NAME
        cookie = {"name": name, "value": client.cookies[name].value, "url": live_server.url}
        context.add_cookies([cookie])
        page = context.new_page()
        page.set_default_timeout(20_000)
        # The film has no media here: what is missing of it is no fault of these pages.
        page.on("console", lambda m: faults.append(m.text) if m.text.startswith("CSP") else None)
        page.on("pageerror", lambda error: faults.append(str(error)))
        return page

    yield open_for
    for context in contexts:
        context.close()
    assert faults == []


def test_a_film_is_shared_and_stepped_through_by_part(room, page_of):
    page = page_of(room.coach)
    page.goto(reverse("film:detail", args=[room.film.pk]))
    page.get_by_text("Share this film with Maren").click()
    page.get_by_label("our ball", exact=True).check()
    page.get_by_role("button", name="Share it so").click()
    expect(page.locator("film-parts")).to_contain_text("You: our ball · Maren: their ball")
    possessions = page.locator("film-possessions")
    expect(possessions).to_have_attribute("only-side", "ours")
    starts = "p => p.steps().map((row) => row.startMs)"
    assert possessions.evaluate(starts) == [0, 20_000]
    page.get_by_label("Step through my part only").uncheck()
    assert possessions.evaluate(starts) == [0, 10_000, 20_000]
    other = page_of(room.maren, on="phone")
    other.goto(reverse("film:detail", args=[room.film.pk]))
    expect(other.locator("film-possessions")).to_have_attribute("only-side", "theirs")


def test_the_last_words_are_copied_by_key_and_the_draft_is_handed_over(room, page_of):
    page = page_of(room.coach)
    page.goto(reverse("film:detail", args=[room.film.pk]))
    form = page.locator("comment-form")
    form.locator("[name=start_ms]").fill("0:04.0")
    form.locator("[name=who]").fill("12 ")
    form.locator("[name=skill]").fill("Help-side position")
    said = page.locator("last-words")
    expect(said).to_contain_text("Low and early.")
    expect(said).to_contain_text("Maren")
    form.locator("[name=happened]").focus()
    page.keyboard.press("Alt+0")
    expect(form.locator("[name=do_instead]")).to_have_value("Low and early.")
    page.get_by_label("not yet", exact=False).first.check()
    form.get_by_role("button", name="Keep the draft").click()
    beside = page.locator("#film-comments")
    beside.get_by_role("button", name="Hand over 0:04").click()
    expect(beside).to_contain_text("Maren can change and send them")
    assert Comment.objects.drafts().get().handed_over_at is not None
    other = page_of(room.maren)
    other.goto(reverse("home:waiting"))
    expect(other.locator("main")).to_contain_text("Drafts handed over to you")
    other.get_by_role("link", name=room.film.title).first.click()
    expect(other.locator("main")).to_contain_text("handed over by Ravel")
    other.locator("#send button.primary").click()
    other.wait_for_url("**/sent/")
    sent = Comment.objects.get(start_ms=4_000)
    assert (sent.author, sent.sender) == (room.coach, room.maren)


def test_a_file_of_comments_is_looked_at_and_kept(room, page_of):
    page = page_of(room.coach, on="phone")
    page.goto(reverse("film:detail", args=[room.film.pk]))
    page.get_by_role("link", name="Import comments").click()
    file = {"name": "notes.vtt", "mimeType": "text/vtt", "buffer": CUES.encode()}
    page.get_by_label("File").set_input_files(file)
    page.get_by_role("button", name="Show what is understood").click()
    expect(page.locator("main")).to_contain_text("line 6")
    page.get_by_label("Skill, where none is named").select_option("help-position")
    page.get_by_role("button", name="Look again with these").click()
    expect(page.locator("#import-rows")).to_have_text("1 draft")
    page.get_by_role("button", name="Keep as drafts").click()
    expect(page.locator("main")).to_contain_text("1 draft kept. Nothing has been sent.")
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"]["width"]
    draft = Comment.objects.drafts().get()
    assert (draft.happened, draft.skill, draft.start_ms) == ("#12 trails", room.skill, 3_000)
    page.get_by_text("Export", exact=True).click()
    with page.expect_download() as caught:
        page.get_by_role("link", name="WebVTT", exact=True).click()
    assert caught.value.suggested_filename.endswith("comments.vtt")
