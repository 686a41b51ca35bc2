"""Where mail goes without a mail server: one .eml file each, in DATA_DIR/mail."""

import re
from collections.abc import Sequence

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend

from devplans.core.ids import uuid7


class EmailBackend(BaseEmailBackend):
    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        settings.MAIL_DIR.mkdir(parents=True, exist_ok=True)
        for message in email_messages:
            to = re.sub(r"[^\w@.+-]", "_", message.to[0] if message.to else "nobody")[:80]
            part = settings.MAIL_DIR / f"{uuid7()}-{to}.part"
            part.write_bytes(message.message().as_bytes(linesep="\r\n"))
            part.rename(part.with_suffix(".eml"))
        return len(email_messages)
