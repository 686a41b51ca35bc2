"""What was said about one moment goes into the comment's form beside it, part by part."""

from fractions import Fraction

import pytest
from playwright.sync_api import expect

from tests import factories as make
from tests.e2e.people import SIZES, TELL_VIOLATIONS
from tests.e2e.talking import opened
from tests.e2e.test_film_page import cast, no_async_guard, ready_film
from tests.film import films
from tests.talkthrough.talks import a_talk, say

__all__ = ["cast", "no_async_guard"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]
KIND = films.Kind("moment", films.steady(75), Fraction(1, 25), options={"preset": "veryfast"})
SAID = "Ines, you are standing up on the closeout. Next time stay low and chop your feet."


@pytest.fixture
def page(browser, live_server, no_async_guard, cast, tmp_path):
    """The film's page, beside it a moment that was talked about and written down."""
    make.make_skill(name="Closeout technique", slug="closeout-technique")
    make.make_skill(name="Rim watching", slug="rim-watching")
    film = ready_film(cast.squad, films.write(tmp_path, KIND))
    talk = a_talk(film, cast.coach, kind="moment")
    say(talk, 1, 2, SAID)
    context = browser.new_context(base_url=live_server.url, viewport=SIZES["laptop"])
    context.add_init_script(TELL_VIOLATIONS)
    faults = []
    context.on("weberror", lambda error: faults.append(str(error.error)))
    page = opened(context, live_server, cast.coach, film)
    yield page
    page.wait_for_load_state("networkidle")
    context.close()
    assert faults == []


def use(page):
    page.get_by_role("button", name="Put the words into the comment").click()


def field(page, name):
    return page.locator(f"comment-form [name={name}]")


def test_each_part_of_what_was_heard_has_its_field(page):
    use(page)
    expect(field(page, "happened")).to_have_value("Ines, you are standing up on the closeout.")
    expect(field(page, "do_instead")).to_have_value("Stay low and chop your feet.")
    expect(field(page, "skill")).to_have_value("Closeout technique")
    expect(page.locator("comment-form .chip")).to_have_text([r"12 Ines Okafor ×"])
    expect(page.locator("comment-form [name=verdict][value=not_yet]")).to_be_checked()
    expect(field(page, "start_ms")).to_have_value("0:01.000")
    page.locator("comment-form [type=submit].primary").click()
    expect(page.locator("comment-form .comment-said")).to_have_text("Kept as a draft.")


def test_what_the_coach_put_in_stays(page):
    field(page, "start_ms").fill("0:02.000")
    field(page, "who").fill("run")
    field(page, "who").press("Enter")
    expect(page.locator("comment-form .chip")).to_have_count(1)
    field(page, "skill").fill("Rim watching")
    page.locator("comment-form [name=verdict][value=note]").check()
    field(page, "happened").fill("Mine.")
    field(page, "do_instead").fill("Mine too.")
    use(page)
    expect(field(page, "happened")).to_have_value(f"Mine. {SAID}")
    expect(field(page, "do_instead")).to_have_value("Mine too.")
    expect(field(page, "skill")).to_have_value("Rim watching")
    expect(page.locator("comment-form .chip")).to_contain_text(["Runa"])
    expect(page.locator("comment-form [name=verdict][value=note]")).to_be_checked()
    expect(field(page, "start_ms")).to_have_value("0:02.000")
