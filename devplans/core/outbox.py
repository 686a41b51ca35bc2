"""Emptying the outbox: whoever holds a row's lease sends it; what crashed is claimed again when its lease ends."""

import logging
import smtplib
from datetime import timedelta
from email.mime.image import MIMEImage
from uuid import UUID, uuid4

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.mail import EmailMultiAlternatives
from django.db.models import F, Q
from django.utils import timezone

from devplans.core.models import Message

log = logging.getLogger(__name__)
MAX_ATTEMPTS = 8
SWEEP_AT_ONCE = 500
State = Message.State


def due_ids() -> list[UUID]:
    """Keys of messages that may be claimed now, oldest first."""
    due = Message.objects.due(timezone.now()).order_by("not_before")
    return list(due.values_list("pk", flat=True)[:SWEEP_AT_ONCE])


def claim(message_id: UUID) -> UUID | None:
    """Take the lease of one message; its token, or None where somebody else holds it or it is not due."""
    token = uuid4()
    now = timezone.now()
    taken = (
        Message.objects.due(now)
        .filter(pk=message_id)
        .update(state=State.SENDING, lease_until=now + timedelta(seconds=settings.OUTBOX_LEASE_S), lease_token=token, attempts=F("attempts") + 1)
    )
    return token if taken else None


def release(message_id: UUID, token: UUID, **fields: object) -> bool:
    """Write the outcome, if the lease is still ours."""
    mine = Message.objects.filter(Q(state=State.SENDING), pk=message_id, lease_token=token)
    return bool(mine.update(lease_until=None, lease_token=None, **fields))


def build(message: Message) -> EmailMultiAlternatives:
    """The mail of one row: text and HTML as alternatives, pictures inline by Content-ID."""
    mail = EmailMultiAlternatives(
        subject=message.subject,
        body=message.text,
        to=[message.address],
        headers={"Message-ID": message.message_id, "Auto-Submitted": "auto-generated", **message.headers},
    )
    if message.html:
        mail.attach_alternative(message.html, "text/html")
    for picture in message.inline:
        mail.mixed_subtype = "related"
        with default_storage.open(picture["key"]) as file:
            part = MIMEImage(file.read(), _subtype=picture["type"].split("/")[1])
        part.add_header("Content-ID", f"<{picture['cid']}>")
        part.add_header("Content-Disposition", "inline", filename=f"{picture['cid']}.jpg")
        mail.attach(part)
    return mail


def send_message(*, message_id: UUID) -> bool:
    """Send one message; True if this call sent it. A refusal for good marks it failed; a passing one waits."""
    token = claim(message_id)
    if token is None:
        return False
    message = Message.objects.get(pk=message_id)
    try:
        build(message).send()
    except smtplib.SMTPRecipientsRefused as error:
        codes = [code for code, _words in error.recipients.values()]
        return _failed(message, token, error, final=all(code >= 500 for code in codes))
    except (smtplib.SMTPException, OSError) as error:
        return _failed(message, token, error, final=False)
    release(message_id, token, state=State.SENT, sent_at=timezone.now(), last_error="")
    return True


def _failed(message: Message, token: UUID, error: Exception, *, final: bool) -> bool:
    final = final or message.attempts >= MAX_ATTEMPTS
    log.warning("message %s not sent (attempt %s): %s", message.pk, message.attempts, type(error).__name__)
    release(
        message.pk,
        token,
        state=State.FAILED if final else State.PENDING,
        not_before=timezone.now() + timedelta(seconds=min(30 * 2**message.attempts, 3600)),
        last_error=f"{type(error).__name__}: {error}"[:500],
    )
    return False
