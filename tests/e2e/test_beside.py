"""What belongs side by side stands there, whatever else is on the page."""

import pytest
from django.urls import reverse

from tests import factories as make
from tests.e2e.people import SIZES
from tests.e2e.test_enter import cast, correcting, no_async_guard, page, sign_in, talk

__all__ = ["cast", "correcting", "no_async_guard", "page", "talk"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]


def place(page, what):
    return page.locator(what).first.bounding_box()


def test_suggestions_stand_beside_the_film_and_in_sight(correcting):
    film, suggestions = place(correcting, ".talk-film"), place(correcting, ".talk-suggestions")
    assert suggestions["y"] == film["y"]
    assert film["x"] + film["width"] <= suggestions["x"] + 1
    row = place(correcting, ".talk-row[aria-current]")
    assert row["y"] + row["height"] < SIZES["laptop"]["height"]


def test_a_player_answers_by_two_buttons_on_one_line(page, cast, live_server):
    comment = make.make_comment(make.make_film(cast.squad), cast.coach, [cast.kid])
    delivery = make.make_delivery(comment, cast.kid)
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, cast.kid.user, live_server.url)
    page.goto(reverse("feedback:delivery", args=[delivery.pk]))
    seen, ask = place(page, ".pair > form .button"), place(page, ".ask > summary")
    assert (seen["y"], seen["height"]) == (ask["y"], ask["height"])
