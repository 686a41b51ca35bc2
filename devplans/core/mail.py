"""Putting a mail into the outbox. Nothing else in the product sends mail."""

import hashlib
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.utils import timezone

from devplans.core.models import Message


def message_id_for(key: str) -> str:
    """The same key gives the same Message-ID, so that a mail sent twice by a crash can be told
    apart."""
    host = urlsplit(settings.PUBLIC_URL).hostname or "localhost"
    return f"<{hashlib.sha256(key.encode()).hexdigest()[:32]}@{host}>"


def queue_message(
    *,
    key: str,
    kind: str,
    address: str,
    recipient: Any = None,
    subject: str,
    text: str,
    html: str = "",
    headers: dict[str, str] | None = None,
    inline: list[dict[str, str]] | None = None,
    club_id: UUID | None = None,
    player_id: UUID | None = None,
    not_before: datetime | None = None,
) -> Message:
    """Put one mail into the outbox, once per `key`; a second call with the same key changes
    nothing.

    inline: [{"cid", "key" (in the media storage), "type": "image/jpeg"}]. not_before: aware UTC,
    now if None.
    The mail is sent after the transaction commits, or by the sweep within a minute.
    """
    from devplans.core import tasks

    message, made = Message.objects.get_or_create(
        key=key,
        defaults={
            "kind": kind,
            "address": address,
            "recipient": recipient,
            "subject": " ".join(subject.split())[:300],
            "text": text,
            "html": html,
            "headers": headers or {},
            "inline": inline or [],
            "club_id": club_id,
            "player_id": player_id,
            "not_before": not_before or timezone.now(),
            "message_id": message_id_for(key),
        },
    )
    if made and message.not_before <= timezone.now():
        tasks.send_message.delay_on_commit(str(message.pk))
    return message
