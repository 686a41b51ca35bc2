from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class InvitedOnlyAdapter(DefaultAccountAdapter):
    """Accounts are made by accepting an invitation, never by signing up."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Codes go through the outbox like every other mail."""
        super().send_mail(template_prefix, email, context)
