"""What stands behind the link in a digest's mail: one page, for a week, for whom it was meant."""

import hashlib
import re
import secrets
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.digests import planning
from devplans.digests.models import Digest, DigestLink
from devplans.people import lookups
from devplans.people.access import Role
from devplans.people.models import Club, Player, Squad

SECRET_BYTES = 32


def new_secret() -> str:
    """256 random bits, for an address."""
    return secrets.token_urlsafe(SECRET_BYTES)


def hash_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def address(secret: str) -> str:
    return settings.PUBLIC_URL + reverse("digests:open", args=[secret])


def without_secret(words: str, digest: Digest) -> str:
    """The words of a mail with the address that asks to sign in in place of the secret one."""
    before, after = address("secret").split("secret")
    secret_address = re.compile(re.escape(before) + r"[\w-]+" + re.escape(after))
    return secret_address.sub(
        settings.PUBLIC_URL + reverse("digests:page", args=[digest.pk]), words
    )


def look_up(secret: str) -> DigestLink:
    """The link with this secret, while it is open and its reader has the right to the page.

    Reads only: mail scanners follow links. Raises DomainError "link.unknown" for a secret that we
    did not make, and "link.ended", "link.expired" or "link.withdrawn".
    """
    link = DigestLink.objects.behind(hash_of(secret))
    if link is None:
        raise DomainError("link.unknown", _("This address opens no page. It may be cut short."))
    if link.revoked_at is not None:
        raise DomainError("link.ended", _("This link was ended."))
    if not link.is_open:
        raise DomainError("link.expired", _("This link held for a week, which is over."))
    if not is_still_meant(link.digest):
        raise DomainError("link.withdrawn", _("This link does not open the page any more."))
    return link


def is_still_meant(digest: Digest) -> bool:
    """Is the recipient still who the page was written for, and does he still want digests?"""
    reader = digest.recipient
    if not reader.is_active or not lookups.wants_mail(reader, planning.MAIL_KIND):
        return False
    if digest.kind == Digest.Kind.GUARDIAN:
        told_of = {part["player"] for part in digest.facts.get("parts", [])}
        children = Player.objects.for_role(reader, Role.GUARDIAN).filter(club=digest.club)
        return bool(told_of) and told_of <= {
            str(pk) for pk in children.values_list("pk", flat=True)
        }
    anchors = {
        Digest.Kind.PLAYER: (Player, Role.PLAYER),
        Digest.Kind.COACH: (Squad, Role.COACH),
        Digest.Kind.DIRECTOR: (Club, Role.DIRECTOR),
    }
    anchor, role = anchors[Digest.Kind(digest.kind)]
    return anchor.objects.for_role(reader, role).filter(pk=digest.subject).exists()


def ends_on(link: DigestLink, zone: str) -> datetime:
    """When the link runs out, by the club's clock."""
    return link.expires_at.astimezone(ZoneInfo(zone))
