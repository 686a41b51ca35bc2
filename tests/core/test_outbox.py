import smtplib
from datetime import timedelta

import pytest
from django.core import mail
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from devplans.core import outbox, tasks
from devplans.core.mail import queue_message
from devplans.core.models import Message

pytestmark = pytest.mark.django_db


def queued(**fields):
    return queue_message(
        **{
            "key": "k1",
            "kind": "notice",
            "address": "a@home.example",
            "subject": "Hello",
            "text": "Text",
            **fields,
        }
    )


def test_the_same_key_is_one_mail():
    assert queued().pk == queued(subject="Other").pk
    assert Message.objects.count() == 1


def test_a_message_is_sent_once():
    message = queued()
    assert outbox.send_message(message_id=message.pk)
    assert not outbox.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert (message.state, message.attempts, len(mail.outbox)) == ("sent", 1, 1)
    assert mail.outbox[0].extra_headers["Message-ID"] == message.message_id


def test_commit_rings_the_doorbell(django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        queued()
    assert len(mail.outbox) == 1


def test_nothing_leaves_before_its_time(django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        message = queued(not_before=timezone.now() + timedelta(hours=1))
    assert not outbox.send_message(message_id=message.pk)
    assert mail.outbox == []


def test_a_held_lease_keeps_others_off_and_a_lost_one_is_taken_over():
    message = queued()
    token = outbox.claim(message.pk)
    assert token
    assert outbox.claim(message.pk) is None
    assert tasks.sweep_outbox() == 0
    Message.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert tasks.sweep_outbox() == 1
    message.refresh_from_db()
    assert (message.state, message.attempts) == ("sent", 2)
    assert not outbox.release(message.pk, token, state="failed"), (
        "the lost worker must not write any more"
    )


@pytest.mark.parametrize(
    ("error", "state"),
    [
        (smtplib.SMTPRecipientsRefused({"a@home.example": (550, b"no such")}), "failed"),
        (smtplib.SMTPRecipientsRefused({"a@home.example": (451, b"later")}), "pending"),
        (smtplib.SMTPServerDisconnected("gone"), "pending"),
        (ConnectionRefusedError("down"), "pending"),
    ],
)
def test_a_refusal_for_good_ends_and_a_passing_one_waits(monkeypatch, error, state):
    def refuse(self, *args, **kwargs):
        raise error

    message = queued()
    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
    assert not outbox.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert message.state == state
    assert message.last_error
    if state == "pending":
        assert message.not_before > timezone.now()
        monkeypatch.undo()
        Message.objects.update(not_before=timezone.now())
        assert outbox.send_message(message_id=message.pk)
        assert len(mail.outbox) == 1


def test_after_many_passing_refusals_the_message_is_parked(monkeypatch):
    def refuse(self, *args, **kwargs):
        raise ConnectionRefusedError("down")

    message = queued()
    Message.objects.update(attempts=outbox.MAX_ATTEMPTS - 1)
    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", refuse)
    outbox.send_message(message_id=message.pk)
    message.refresh_from_db()
    assert message.state == "failed"


def test_pictures_go_inline_beside_both_texts():
    default_storage.save("stills/one.jpg", ContentFile(b"\xff\xd8\xff\xe0 picture"))
    message = queued(
        html='<p>Hi <img src="cid:still" alt="still"></p>',
        inline=[{"cid": "still", "key": "stills/one.jpg", "type": "image/jpeg"}],
    )
    built = outbox.build(message).message()
    assert built.get_content_type() == "multipart/related"
    alternatives, picture = built.get_payload()
    assert [part.get_content_type() for part in alternatives.get_payload()] == [
        "text/plain",
        "text/html",
    ]
    assert picture["Content-ID"] == "<still>"
    assert picture.get_content_disposition() == "inline"


def test_a_line_break_in_the_subject_cannot_add_a_header():
    message = queued(subject="Hi\r\nBcc: all@evil.example")
    assert outbox.build(message).message()["Subject"] == "Hi Bcc: all@evil.example"
