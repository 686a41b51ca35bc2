"""Emptying the outbox: whoever holds a row's lease sends it; what crashed is claimed again when
its lease ends."""

import logging
import re
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
# What opens a door is not kept once it was sent; a code that comes too late is not sent.
SECRET_KINDS = {"code", "invitation"}
CODE_LIFE = timedelta(hours=1)
State = Message.State


def due_ids() -> list[UUID]:
    """Keys of messages that may be claimed now, oldest first."""
    due = Message.objects.due(timezone.now()).order_by("not_before")
    return list(due.values_list("pk", flat=True)[:SWEEP_AT_ONCE])


def claim(message_id: UUID) -> UUID | None:
    """Take the lease of one message; its token, or None where somebody else holds it or it is not
    due."""
    token = uuid4()
    now = timezone.now()
    taken = (
        Message.objects.due(now)
        .filter(pk=message_id)
        .update(
            state=State.SENDING,
            lease_until=now + timedelta(seconds=settings.OUTBOX_LEASE_S),
            lease_token=token,
            attempts=F("attempts") + 1,
        )
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
        headers={
            "Message-ID": message.message_id,
            "Auto-Submitted": "auto-generated",
            **message.headers,
        },
    )
    if message.html:
        mail.attach_alternative(message.html, "text/html")
    for picture in message.inline:
        mail.mixed_subtype = "related"
        subtype = picture["type"].split("/")[1]
        with default_storage.open(picture["key"]) as file:
            part = MIMEImage(file.read(), _subtype=subtype)
        part.add_header("Content-ID", f"<{picture['cid']}>")
        ending = "jpg" if subtype == "jpeg" else subtype
        part.add_header("Content-Disposition", "inline", filename=f"{picture['cid']}.{ending}")
        mail.attach(part)
    return mail


def send_message(*, message_id: UUID) -> bool:
    """Send one message; True if this call sent it. A refusal for good marks it failed; a passing
    one waits."""
    token = claim(message_id)
    if token is None:
        return False
    message = Message.objects.get(pk=message_id)
    if message.kind == "code" and timezone.now() - message.created_at > CODE_LIFE:
        release(message_id, token, state=State.WITHDRAWN, **_wiped(message))
        return False
    try:
        build(message).send()
    except smtplib.SMTPRecipientsRefused as error:
        codes = [code for code, _words in error.recipients.values()]
        return _failed(message, token, error, final=all(code >= 500 for code in codes))
    except (smtplib.SMTPException, OSError) as error:
        return _failed(message, token, error, final=False)
    sent_at = timezone.now()
    release(message_id, token, state=State.SENT, sent_at=sent_at, last_error="", **_wiped(message))
    return True


def _wiped(message: Message) -> dict[str, str]:
    return {"text": "", "html": ""} if message.kind in SECRET_KINDS else {}


def _failed(message: Message, token: UUID, error: Exception, *, final: bool) -> bool:
    final = final or message.attempts >= MAX_ATTEMPTS
    log.warning(
        "message %s not sent (attempt %s): %s", message.pk, message.attempts, type(error).__name__
    )
    release(
        message.pk,
        token,
        state=State.FAILED if final else State.PENDING,
        not_before=timezone.now() + timedelta(seconds=min(30 * 2**message.attempts, 3600)),
        last_error=f"{type(error).__name__}: {error}"[:500],
        **(_wiped(message) if final else {}),
    )
    return False


def drop_pictures(*, player_id: UUID) -> int:
    """Take one player's pictures out of every mail that is not sent yet; returns how many mails.

    A picture is this player's where the mail is about him, or where it carries "player_id" itself
    (a mail about two children).
    """
    changed = 0
    waiting = Message.objects.filter(state__in=[State.PENDING, State.SENDING]).exclude(inline=[])
    for message in waiting.select_for_update():
        dropped = [picture for picture in message.inline if _shows(message, picture, player_id)]
        if not dropped:
            continue
        message.inline = [picture for picture in message.inline if picture not in dropped]
        for picture in dropped:
            message.html = without_picture(message.html, picture["cid"])
        message.save(update_fields=["inline", "html", "updated_at"])
        changed += 1
    return changed


def _shows(message: Message, picture: dict[str, str], player_id: UUID) -> bool:
    return picture.get("player_id", str(message.player_id)) == str(player_id)


def without_picture(html: str, cid: str) -> str:
    """The HTML of a mail without the image that has this Content-ID."""
    return re.sub(rf"<img\b[^>]*\bcid:{re.escape(cid)}(?=[\"'\s>])[^>]*>", "", html)
