import time

import pytest
from allauth.mfa.totp.internal.auth import (
    TOTP,
    format_hotp_value,
    hotp_value,
    yield_hotp_counters_from_time,
)
from django.core import mail
from django.urls import reverse

from tests.accounts.steps import CONFIRM, ask_for_code, is_signed_in, sign_in
from tests.people.steps import invite

SETUP = "/accounts/2fa/totp/activate/"


@pytest.fixture(autouse=True)
def required(settings):
    settings.SECOND_FACTOR_REQUIRED = True


def code_of(secret):
    counter = next(iter(yield_hotp_counters_from_time()))
    return format_hotp_value(hotp_value(secret, counter))


@pytest.mark.parametrize(
    ("role", "is_asked"),
    [
        ("coach", True),
        ("director", True),
        ("welfare", False),
        ("player", False),
        ("guardian", False),
    ],
)
def test_who_needs_a_second_step(cast, client, role, is_asked):
    client.force_login(getattr(cast, role))
    answer = client.get(reverse("people:squads"))
    assert answer.status_code == (302 if is_asked else 200)
    if is_asked:
        assert answer.url == SETUP


def test_the_api_answers_403_and_no_page(cast, client):
    client.force_login(cast.coach)
    answer = client.get("/api/v1/me/")
    assert answer.status_code == 403
    assert "second step" in answer.json()["detail"]


def test_set_up_and_sign_in_with_it(cast, client, django_capture_on_commit_callbacks):
    sign_in(client, cast.coach.email)
    page = client.get(SETUP)
    assert page.status_code == 200
    secret = page.context["form"].secret
    with django_capture_on_commit_callbacks(execute=True):
        done = client.post(SETUP, {"code": code_of(secret)})
    assert done.url == reverse("mfa_view_recovery_codes")
    assert mail.outbox[-1].subject == "Your sign-in was changed"
    codes = client.get(done.url).context["unused_codes"]
    assert len(codes) == 10
    assert client.get(reverse("people:squads")).status_code == 200
    client.post(reverse("account_logout"))

    answer = sign_in(client, cast.coach.email)
    assert answer.url == reverse("mfa_authenticate")
    assert not is_signed_in(client)
    assert client.get(reverse("people:squads")).status_code == 302
    assert client.post(answer.url, {"code": "000000"}).status_code == 200
    assert not is_signed_in(client)
    client.post(answer.url, {"code": codes[0]})
    assert is_signed_in(client)
    client.post(reverse("account_logout"))

    # A spare code is good for one time.
    answer = sign_in(client, cast.coach.email)
    client.post(answer.url, {"code": codes[0]})
    assert not is_signed_in(client)


def test_an_older_session_is_asked_again_before_the_second_step_changes(cast, client, monkeypatch):
    sign_in(client, cast.coach.email)
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 301)
    assert client.get(SETUP).url.startswith(reverse("account_reauthenticate"))


def test_a_wrong_code_switches_nothing_on(cast, client):
    sign_in(client, cast.coach.email)
    client.get(SETUP)
    assert client.post(SETUP, {"code": "000000"}).status_code == 200
    assert not cast.coach.authenticator_set.exists()


def test_a_code_by_mail_does_not_replace_the_second_step(
    cast, client, django_capture_on_commit_callbacks
):
    TOTP.activate(cast.coach, "JBSWY3DPEHPK3PXP")
    code = ask_for_code(client, cast.coach.email, django_capture_on_commit_callbacks)
    answer = client.post(CONFIRM, {"code": code})
    assert answer.url == reverse("mfa_authenticate")
    assert not is_signed_in(client)


def test_spare_codes_alone_are_no_second_step(cast, client):
    cast.coach.authenticator_set.create(type="recovery_codes", data={})
    client.force_login(cast.coach)
    assert client.get(reverse("people:squads")).url == SETUP


def test_a_link_to_join_works_before_the_second_step_is_set_up(cast, client):
    _invitation, token = invite(cast.director, "director", cast.coach.email, club=cast.club)
    client.force_login(cast.coach)
    assert client.get(reverse("people:join", args=[token])).status_code == 200
