"""A guardian's laptop and a child's phone; the picture is read from the screen, as cameras do."""

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.e2e import clubs

pytestmark = [pytest.mark.e2e, pytest.mark.once]
A_WHILE_MS = 20_000


@pytest.fixture
def club(portal):
    return clubs.seed(portal)


def show_code(adult, player_id: str) -> str:
    """The address in the picture on the adult's screen."""
    import zxingcpp

    adult.go(f"/people/players/{player_id}/phones/")
    adult.press("Show a code")
    expect(adult.page.locator(".code-state")).to_contain_text("Waiting for the phone")
    picture = Image.open(io.BytesIO(adult.page.screenshot()))
    return zxingcpp.read_barcode(picture).text


def person_of(phone) -> str:
    return phone.page.locator("body").get_attribute("data-person")


def test_a_family_signs_one_phone_in_for_two_children(portal, mailbox, person, club):
    mother = person().sign_in(club.emails["family"])
    phone = person(on="phone")

    # The younger one has neither address nor account.
    address = show_code(mother, club.players["sibling"])
    assert address.startswith(f"{portal.address}/people/phone/")
    phone.go(address.removeprefix(portal.address))
    assert "Lucan Okonjo" in phone.text()
    phone.press("Yes, this is Lucan's phone")
    phone.page.wait_for_url("**/today/")
    expect(mother.page.locator(".code-state")).to_contain_text(
        "signed in as Lucan", timeout=A_WHILE_MS
    )
    expect(mother.page.locator(".qr")).to_have_count(0)
    mailbox.wait(club.emails["family"], subject="A phone is signed in as Lucan")
    lucan = person_of(phone)
    cookie = next(one for one in phone.context.cookies() if one["name"] == "sessionid")
    assert cookie["expires"] > 0, "it outlives the browser"

    # The older one types the signs; the code is on no phone's camera.
    show_code(mother, club.players["kid"])
    signs = mother.page.locator(".signs").inner_text()
    phone.go("/people/phone/")
    phone.page.get_by_label("Code", exact=True).fill(signs.lower())
    phone.press("Go on")
    assert "Lucan can use this phone as well" in phone.text()
    phone.press("Yes, this is Isaura's phone")
    phone.page.wait_for_url("**/today/")
    isaura = person_of(phone)
    assert isaura != lucan

    # They hand it to each other, and what one has kept on it stays.
    phone.page.evaluate("localStorage.setItem('kept-by-isaura', '40 sets')")
    for name, key in (("Lucan", lucan), ("Isaura", isaura)):
        phone.page.locator(".in-hand summary").tap()
        button = phone.page.get_by_role("button", name=f"Go on as {name}")
        box = button.bounding_box()
        assert box["height"] >= 48
        assert box["x"] + box["width"] <= 390
        with phone.page.expect_navigation():
            button.tap()
        assert person_of(phone) == key
        expect(phone.page.locator(".in-hand summary")).to_contain_text(name)
    assert phone.page.evaluate("localStorage.getItem('kept-by-isaura')") == "40 sets"

    # Ended from the laptop: dead at the next tap, and only hers.
    mother.go(f"/people/players/{club.players['kid']}/phones/")
    mother.page.locator(".phone-line").get_by_role("button", name=re.compile("^End")).click()
    with mother.page.expect_navigation():
        mother.page.get_by_role("button", name="End it", exact=True).click()
    assert "No phone is signed in" in mother.text()
    phone.go("/today/")
    assert "not signed in as Isaura any more" in phone.text()
    phone.press("Go on as Lucan")
    assert person_of(phone) == lucan
