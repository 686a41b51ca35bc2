"""A step that was not taken says so, and what was written stays."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories as make
from tests.e2e.test_enter import cast, no_async_guard, page, sign_in

__all__ = ["cast", "no_async_guard", "page"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def writing(page, cast, live_server):
    """A comment half written on a film's page."""
    film = make.make_film(cast.squad, duration_ms=600_000)
    sign_in(page, cast.coach, live_server.url)
    page.goto(reverse("film:detail", args=[film.pk]))
    page.wait_for_selector("#comment-form player-picker [role=combobox]")
    page.locator("[name=happened]").fill("Late.")
    yield page
    page.goto("about:blank")
    page.faults.clear()


def keep(page):
    page.get_by_role("button", name="Keep the draft").click()


def test_who_was_signed_out_meanwhile_goes_on_after_signing_in(writing, cast, live_server):
    told = writing.locator("#not-done")
    expect(told).to_be_hidden()
    writing.context.clear_cookies(name="sessionid")
    keep(writing)
    expect(told).to_contain_text("signed out")
    expect(told).to_be_in_viewport()
    expect(writing.locator("[name=happened]")).to_have_value("Late.")
    expect(writing.locator("[name=password]")).to_have_count(0)
    # Signing in anew changes the token of every page that is open.
    writing.context.add_cookies([{"name": "csrftoken", "value": "n" * 32, "url": live_server.url}])
    sign_in(writing, cast.coach, live_server.url)
    keep(writing)
    expect(writing.locator("[name=who][aria-invalid=true]")).to_have_count(1)
    expect(told).to_be_hidden()
    expect(writing.locator("[name=happened]")).to_have_value("Late.")


def test_what_is_kept_without_a_connection_is_not_believed_kept(writing):
    writing.context.set_offline(True)
    keep(writing)
    expect(writing.locator("#not-done")).to_contain_text("No connection")
    expect(writing.locator("[name=happened]")).to_have_value("Late.")
    writing.context.set_offline(False)
