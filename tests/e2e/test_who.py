"""Who was meant: any player of the squad with three keys, whatever stands there and is offered."""

import pytest
from playwright.sync_api import expect

from tests import factories as make
from tests.e2e.test_enter import correcting, only, page, settled
from tests.e2e.test_film_page import cast, no_async_guard
from tests.talkthrough.talks import a_talk, heard, suggestion

__all__ = ["cast", "correcting", "no_async_guard", "page"]
pytestmark = [pytest.mark.e2e, pytest.mark.once, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def talk(cast):
    """Number 7 stands there, 31 is offered on key 1, and number 12 was meant."""
    make.make_player(squad=cast.squad, number="15", first_name="Rosa", last_name="Iden")
    film = make.make_film(cast.squad, duration_ms=600_000, state="waiting")
    talk = a_talk(film, cast.coach)
    suggestion(
        talk, [cast.mate], unsure=[str(cast.adult.pk)], heard=[heard("inus", cast.mate, sure=True)]
    )
    return talk


@pytest.mark.parametrize("typed", ["i", "ines"])
def test_a_wrong_player_is_put_right_with_three_keys(correcting, cast, talk, typed):
    keys = correcting.keyboard
    keys.press("h")
    settled(correcting)
    expect(correcting.locator(".talk-everybody button")).to_have_count(4)
    for letter in typed:
        keys.press(letter)
    row = correcting.locator(".talk-row")
    expect(row.locator(".talk-who > .number")).to_have_text(["12"])
    keys.press("Enter")
    expect(row).to_have_attribute("data-state", "accepted")
    one, players = only(talk)
    assert players == [cast.kid]
    assert (one.verdict, talk.steps.count()) == ("did_it", 2)


def test_two_of_one_initial_have_other_keys_and_numbers_work_still(correcting, cast, talk):
    keys = correcting.keyboard
    keys.press("h")
    settled(correcting)
    rows = correcting.locator(".talk-everybody button")
    marks = [text.lower() for text in rows.locator("kbd").all_inner_texts()]
    assert len(set(marks)) == 4
    assert "r" not in marks
    keys.press("Escape")
    settled(correcting)
    expect(correcting.locator(".talk-editor")).to_have_count(0)
    keys.press("h")
    settled(correcting)
    keys.type("15")
    expect(correcting.locator(".talk-who > .number")).to_have_text(["15"])
    keys.press("u")
    expect(correcting.locator(".talk-who > .number")).to_have_text(["7"])
    # With a finger: the same buttons.
    keys.press("h")
    settled(correcting)
    rows.get_by_text("Ines").click()
    expect(correcting.locator(".talk-who > .number")).to_have_text(["12"])
