"""Single-use links: the secret is in the link, only its hash is kept."""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.people.models import Invitation

Kind = Invitation.Kind
JOINING = (Kind.DIRECTOR, Kind.WELFARE, Kind.COACH, Kind.PLAYER, Kind.GUARDIAN)


def hash_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def issue(**fields: Any) -> tuple[Invitation, str]:
    """A new invitation and its secret, which is kept nowhere."""
    token = secrets.token_urlsafe(32)
    expires_at = timezone.now() + timedelta(days=settings.INVITATION_DAYS)
    row = Invitation.objects.create(token_hash=hash_of(token), expires_at=expires_at, **fields)
    return row, token


def open_invitation(token: str, *, kinds: Iterable[str] = JOINING) -> Invitation:
    """The invitation behind a link, if it can be accepted.

    Raises DomainError "invitation.unknown", "invitation.used", "invitation.revoked" or
    "invitation.expired"; the last three carry `invitation`, so that a page can say whom to ask.
    """
    rows = Invitation.objects.filter(kind__in=list(kinds), token_hash=hash_of(token))
    row = rows.select_related("club", "squad", "player", "invited_by").first()
    if row is None:
        raise DomainError(
            "invitation.unknown", _("This link is not one of ours, or it was replaced.")
        )
    reasons = [
        ("used", row.accepted_at, _("This invitation was used already.")),
        ("revoked", row.revoked_at, _("This invitation was taken back.")),
        ("expired", row.expires_at <= timezone.now(), _("This invitation has run out.")),
    ]
    for code, holds, message in reasons:
        if holds:
            error = DomainError(f"invitation.{code}", message)
            error.invitation = row  # type: ignore[attr-defined]
            raise error
    return row


def claim_invitation(token: str, *, kinds: Iterable[str] = JOINING) -> Invitation:
    """Mark the invitation behind a link as used; of two who try at once, one gets it."""
    invitation = open_invitation(token, kinds=kinds)
    now = timezone.now()
    if not Invitation.objects.open().filter(pk=invitation.pk).update(accepted_at=now):
        raise DomainError("invitation.used", _("This invitation was used already."))
    invitation.accepted_at = now
    return invitation
