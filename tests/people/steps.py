"""What several of these tests do."""

import re

from devplans.core.models import Message
from devplans.people import services
from devplans.people.models import Invitation


def link_in(text: str) -> str:
    """The path of the first link in a mail."""
    return re.search(r"https?://[^/\s]+(/\S+)", text)[1]


def token_in(text: str) -> str:
    return link_in(text).rstrip("/").rsplit("/", 1)[1]


def invite(actor, kind, email, **places):
    """Invite, and hold the link's secret as the reader of the mail does."""
    before = set(Message.objects.values_list("pk", flat=True))
    invitation = services.invite(actor=actor, kind=kind, email=email, **places)
    mail = Message.objects.exclude(pk__in=before).get()
    return Invitation.objects.get(pk=invitation.pk), token_in(mail.text)
