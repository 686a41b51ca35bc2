import smtplib
from datetime import timedelta

import pytest
from django.core import mail
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from devplans.core import outbox
from devplans.core.models import Message
from tests.accounts.steps import CODE, CONFIRM, ask_for_code, is_signed_in, sign_in
from tests.people.steps import link_in


def test_password_signs_in(cast, client):
    answer = sign_in(client, cast.coach.email)
    assert answer.status_code == 302
    assert is_signed_in(client)


def test_the_address_may_be_written_in_capitals(cast, client):
    sign_in(client, cast.coach.email.upper())
    assert is_signed_in(client)


def test_a_code_from_a_mail_signs_in(cast, client, django_capture_on_commit_callbacks):
    code = ask_for_code(client, cast.guardian.email, django_capture_on_commit_callbacks)
    assert mail.outbox[-1].to == [cast.guardian.email]
    answer = client.post(CONFIRM, {"code": code})
    assert answer.status_code == 302
    assert is_signed_in(client)


def test_the_code_is_wiped_once_it_was_sent(cast, client, django_capture_on_commit_callbacks):
    code = ask_for_code(client, cast.guardian.email, django_capture_on_commit_callbacks)
    row = Message.objects.get(kind="code")
    assert row.state == Message.State.SENT
    assert (row.text, row.html) == ("", "")
    assert code not in str(list(Message.objects.values_list()))
    assert cast.guardian.email not in row.key


def test_another_code_can_be_asked_for(cast, client, django_capture_on_commit_callbacks):
    first = ask_for_code(client, cast.guardian.email, django_capture_on_commit_callbacks)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(CONFIRM, {"action": "resend"})
    assert len(mail.outbox) == 2
    client.post(CONFIRM, {"code": first})
    assert not is_signed_in(client)


def test_a_password_is_reset_by_a_link(cast, client, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("account_reset_password"), {"email": cast.coach.email})
    link = link_in(mail.outbox[-1].body)
    form_url = client.get(link).url
    passwords = {"password1": "ruled-paper-77", "password2": "ruled-paper-77"}
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(form_url, passwords).status_code == 302
    assert mail.outbox[-1].subject == "Your password was changed"
    cast.coach.refresh_from_db()
    assert cast.coach.check_password("ruled-paper-77")
    again = client.get(link)
    page = client.get(again.url) if again.status_code == 302 else again
    assert "does not work any more" in page.content.decode()


def test_who_signs_in_by_code_can_set_a_password(cast, client):
    cast.player.set_unusable_password()
    cast.player.save(update_fields=["password"])
    client.force_login(cast.player)
    assert reverse("account_set_password") in client.get(reverse("people:me")).content.decode()
    passwords = {"password1": "ruled-paper-77", "password2": "ruled-paper-77"}
    assert client.post(reverse("account_set_password"), passwords).status_code == 302
    cast.player.refresh_from_db()
    assert cast.player.check_password("ruled-paper-77")


@pytest.mark.parametrize("route", ["account_signup", "account_email", "account_confirm_email"])
def test_there_is_no_page_to_sign_up_or_to_change_the_address(route):
    with pytest.raises(NoReverseMatch):
        reverse(route)


def test_signing_out_is_a_form(cast, client):
    client.force_login(cast.coach)
    assert client.get(reverse("account_logout")).status_code == 200
    assert is_signed_in(client)
    client.post(reverse("account_logout"))
    assert not is_signed_in(client)


@pytest.mark.parametrize(
    "route",
    [
        "account_login",
        "account_request_login_code",
        "account_reset_password",
        "account_reset_password_done",
        "account_inactive",
    ],
)
def test_open_pages_are_in_our_words(client, db, route):
    page = client.get(reverse(route)).content.decode()
    assert "Sign out" not in page
    assert "example.com" not in page
    assert '<main id="main"' in page


def test_the_form_has_the_fields_that_others_rely_on(client, db):
    page = client.get("/accounts/login/").content.decode()
    assert 'name="login"' in page
    assert 'name="password"' in page
    assert CODE in page


def test_a_code_that_comes_too_late_is_wiped_and_not_sent(cast, client):
    client.post(CODE, {"email": cast.guardian.email})
    hours_ago = timezone.now() - timedelta(hours=2)
    Message.objects.update(created_at=hours_ago, not_before=hours_ago)
    row = Message.objects.get()
    assert not outbox.send_message(message_id=row.pk)
    row.refresh_from_db()
    assert (row.state, row.text) == (Message.State.WITHDRAWN, "")
    assert mail.outbox == []


def test_a_code_that_cannot_be_sent_is_wiped(cast, client, monkeypatch):
    client.post(CODE, {"email": cast.guardian.email})
    row = Message.objects.get()

    def refuse(_mail):
        raise smtplib.SMTPRecipientsRefused({row.address: (550, b"no such box")})

    monkeypatch.setattr("django.core.mail.message.EmailMessage.send", refuse)
    assert not outbox.send_message(message_id=row.pk)
    row.refresh_from_db()
    assert (row.state, row.text) == (Message.State.FAILED, "")
