"""What a digest is known by, and the links in it that act without signing in."""

from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.urls import reverse

from devplans.digests.models import Digest
from devplans.people.models import User
from devplans.stats import weeks

UNSUBSCRIBE_SALT = "digests.unsubscribe"


def key_of(digest: Digest) -> str:
    week = weeks.format_label((digest.iso_year, digest.iso_week))
    return f"digest-{digest.club_id}-{digest.kind}-{digest.recipient_id}-{digest.subject}-{week}"


def unsubscribe_url(user: User) -> str:
    """A link that stops this person's digests by one POST, without signing in. It does not
    expire."""
    token = signing.dumps(user.pk.hex, salt=UNSUBSCRIBE_SALT)
    return settings.PUBLIC_URL + reverse("digests:unsubscribe", args=[token])


def headers(user: User) -> dict[str, str]:
    """List headers of RFC 2369, RFC 2919 and RFC 8058 (one click)."""
    host = urlsplit(settings.PUBLIC_URL).hostname or "localhost"
    return {
        "List-Unsubscribe": f"<{unsubscribe_url(user)}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        "List-Id": f"Weekly digest <weekly-digest.{host}>",
    }


def addressee_of(token: str) -> User | None:
    """Whose link this is; None for a link that we did not make."""
    try:
        return User.objects.filter(pk=UUID(signing.loads(token, salt=UNSUBSCRIBE_SALT))).first()
    except (signing.BadSignature, ValueError, TypeError):
        return None
