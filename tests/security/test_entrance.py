"""Attacks on the ways in."""

import re
import time

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from devplans.core.models import Message
from tests.accounts.steps import CODE, CONFIRM, ask_for_code, is_signed_in, sign_in
from tests.factories import PASSWORD
from tests.people.steps import invite

NOBODY = "nobody.here@people.example"
ELSEWHERE = [
    "https://evil.example/",
    "//evil.example/",
    "\\\\evil.example",
    "https:evil.example",
    "javascript:alert(1)",
]


def plain(response, *addresses):
    """A page without what differs on every call: token, address typed, nonce."""
    text = response.content.decode()
    text = re.sub(r'(name="csrfmiddlewaretoken" value="|X-CSRFToken": ")[^"]*', r"\1", text)
    for address in addresses:
        text = text.replace(address, "ADDRESS")
    return response.status_code, response.headers.get("Location"), text


@pytest.fixture
def closed(cast):
    cast.teammate.is_active = False
    cast.teammate.save(update_fields=["is_active"])
    return cast.teammate.email


def test_asking_for_a_code_tells_nobody_who_has_an_account(cast, closed):
    seen = set()
    for address in (cast.coach.email, NOBODY, closed):
        client = Client()
        first = plain(client.post(CODE, {"email": address}), address)
        second = plain(client.get(CONFIRM), address)
        wrong = plain(client.post(CONFIRM, {"code": "WRONG-CODE"}), address)
        seen.add((first, second, wrong))
    assert len(seen) == 1
    assert [row.address for row in Message.objects.all()] == [cast.coach.email]


def test_resetting_a_password_tells_nobody_who_has_an_account(cast, closed):
    seen = set()
    for address in (cast.coach.email, NOBODY, closed):
        client = Client()
        first = plain(client.post(reverse("account_reset_password"), {"email": address}), address)
        second = plain(client.get(reverse("account_reset_password_done")), address)
        seen.add((first, second))
    assert len(seen) == 1
    assert [row.address for row in Message.objects.all()] == [cast.coach.email]


def test_a_wrong_password_tells_nobody_who_has_an_account(cast, closed):
    seen = {
        plain(sign_in(Client(), address, "not-the-password"), address)
        for address in (cast.coach.email, NOBODY, closed)
    }
    assert len(seen) == 1


def test_a_code_is_dead_after_three_wrong_tries(cast, client, django_capture_on_commit_callbacks):
    code = ask_for_code(client, cast.coach.email, django_capture_on_commit_callbacks)
    for _try in range(3):
        client.post(CONFIRM, {"code": "WRONG-CODE"})
    client.post(CONFIRM, {"code": code})
    assert not is_signed_in(client)


def test_a_code_works_once(cast, client, django_capture_on_commit_callbacks):
    code = ask_for_code(client, cast.coach.email, django_capture_on_commit_callbacks)
    client.post(CONFIRM, {"code": code})
    client.post(reverse("account_logout"))
    client.post(CONFIRM, {"code": code})
    assert not is_signed_in(client)


def test_a_code_works_only_in_the_browser_that_asked(
    cast, client, django_capture_on_commit_callbacks
):
    code = ask_for_code(client, cast.coach.email, django_capture_on_commit_callbacks)
    thief = Client()
    assert thief.post(CONFIRM, {"code": code}).url == CODE
    assert not is_signed_in(thief)


def test_a_code_runs_out(cast, client, django_capture_on_commit_callbacks, monkeypatch):
    code = ask_for_code(client, cast.coach.email, django_capture_on_commit_callbacks)
    now = time.time()
    monkeypatch.setattr(time, "time", lambda: now + 901)
    client.post(CONFIRM, {"code": code})
    assert not is_signed_in(client)


def test_one_address_gets_few_codes(cast):
    for _try in range(8):
        Client().post(CODE, {"email": cast.coach.email})
    assert Message.objects.filter(kind="code").count() == 3


def test_guessing_one_password_is_slowed_down(cast, client):
    for _try in range(10):
        sign_in(client, cast.coach.email, "not-the-password")
    sign_in(client, cast.coach.email, PASSWORD)
    assert not is_signed_in(client)
    # A whole gym behind one address is not locked out with it.
    sign_in(client, cast.guardian.email, PASSWORD)
    assert is_signed_in(client)


@pytest.mark.parametrize("target", ELSEWHERE)
def test_signing_in_sends_nobody_elsewhere(cast, client, target):
    answer = client.post(
        reverse("account_login"),
        {"login": cast.coach.email, "password": PASSWORD, "next": target},
    )
    assert answer.status_code == 302
    assert answer.url == "/"


@pytest.mark.parametrize("target", ELSEWHERE)
def test_signing_out_sends_nobody_elsewhere(cast, client, target):
    client.force_login(cast.coach)
    answer = client.post(reverse("account_logout"), {"next": target})
    assert answer.status_code == 302
    assert answer.url == "/"


def test_signing_in_leads_on_to_a_page_of_ours(cast, client):
    answer = client.post(
        reverse("account_login"),
        {"login": cast.coach.email, "password": PASSWORD, "next": "/people/me/"},
    )
    assert answer.url == "/people/me/"


@pytest.mark.parametrize(
    ("route", "form"),
    [
        ("account_login", {"login": "coach", "password": PASSWORD}),
        ("account_request_login_code", {"email": NOBODY}),
        ("account_reset_password", {"email": NOBODY}),
        ("account_logout", {}),
        ("people:me", {"first_name": "Eve"}),
        ("people:mail-choices", {}),
    ],
)
def test_no_form_is_taken_from_another_site(cast, route, form):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.coach)
    assert client.post(reverse(route), form).status_code == 403


def test_the_session_changes_when_somebody_signs_in(cast, client):
    session = client.session
    session["planted"] = True
    session.save()
    before = session.session_key
    sign_in(client, cast.coach.email)
    assert is_signed_in(client)
    assert client.session.session_key != before


def test_joining_changes_the_session_too(cast, client):
    _invitation, token = invite(cast.coach, "guardian", "nia@people.example", player=cast.mate)
    session = client.session
    session["planted"] = True
    session.save()
    before = session.session_key
    client.post(reverse("people:join", args=[token]), {"first_name": "Nia"})
    assert is_signed_in(client)
    assert client.session.session_key != before


def test_a_closed_account_is_out_at_once(cast, client):
    client.force_login(cast.coach)
    cast.coach.is_active = False
    cast.coach.save(update_fields=["is_active"])
    assert client.get("/people/me/").status_code == 302
    assert client.get("/api/v1/me/").status_code == 403
    again = Client()
    sign_in(again, cast.coach.email)
    assert not is_signed_in(again)


@pytest.mark.parametrize("name", ["x\r\nBcc: victim@evil.example", "x\nSubject: hello"])
def test_a_name_puts_no_header_into_a_mail(cast, name, django_capture_on_commit_callbacks):
    cast.club.name = name
    cast.club.save(update_fields=["name"])
    with django_capture_on_commit_callbacks(execute=True):
        invite(cast.coach, "guardian", "nia@people.example", player=cast.mate)
    [sent] = mail.outbox
    assert sent.recipients() == ["nia@people.example"]
    assert "\n" not in sent.subject
    assert "Bcc" not in sent.message()


def test_personal_pages_and_links_are_not_kept_by_a_browser(cast, client):
    _invitation, token = invite(cast.coach, "guardian", "nia@people.example", player=cast.mate)
    for path in (reverse("people:join", args=[token]), reverse("account_login")):
        answer = client.get(path)
        assert "no-store" in answer.headers["Cache-Control"]
        assert answer.headers["Referrer-Policy"] == "same-origin"


def test_words_of_a_person_are_text_on_every_page(cast, client):
    evil = '<img src=x onerror="alert(1)">'
    cast.kid.first_name = evil
    cast.kid.save(update_fields=["first_name"])
    client.force_login(cast.coach)
    for path in (
        reverse("people:squad", args=[cast.squad.pk]),
        reverse("people:player", args=[cast.kid.pk]),
        reverse("people:players"),
    ):
        page = client.get(path).content.decode()
        assert "<img src=x" not in page
        assert "&lt;img src=x" in page
