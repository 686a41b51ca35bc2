import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_who_is_signed_out_gets_a_page_to_sign_in_or_as_a_fragment_a_word():
    address = reverse("film:list")
    assert Client().get(address).url.startswith(reverse("account_login"))
    answer = Client().get(address, headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers["X-Signed-Out"]) == (403, "1")
    assert answer.content == b""
    boosted = Client().get(address, headers={"HX-Request": "true", "HX-Boosted": "true"})
    assert boosted.status_code == 302
