import secrets
import time
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.translation import gettext_lazy as _

from devplans.core.mail import queue_message

FRESH_S = 300


class InvitedOnlyAdapter(DefaultAccountAdapter):
    """Accounts are made by accepting an invitation, never by signing up."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "account_inactive": _("This account is closed. Ask a director of your club."),
        "email_password_mismatch": _("This address and password do not belong together."),
        "incorrect_code": _("This is not the code. Look at the newest mail."),
        "incorrect_password": _("This is not the password."),
        "too_many_login_attempts": _("Too many tries. Wait a few minutes, then ask for a code."),
        "rate_limited": _("That was very often. Wait a minute, then try again."),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        """Whoever signed in within the last minutes is not asked for the password again."""
        records = get_authentication_records(self.request, self.request.user)
        latest = max((record["at"] for record in records), default=0)
        if time.time() - latest < FRESH_S:
            return False
        return super().is_reauthentication_required(app=app, **kwargs)

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Codes go through the outbox like every other mail; the key cannot be guessed."""
        subject = render_to_string(f"{template_prefix}_subject.txt", context)
        queue_message(
            key=f"code:{secrets.token_urlsafe(24)}",
            kind="code",
            address=email,
            recipient=context.get("user"),
            subject=" ".join(subject.split()),
            text=render_to_string(f"{template_prefix}_message.txt", context).strip() + "\n",
        )
