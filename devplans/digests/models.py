from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Message, Row
from devplans.people.access import Role
from devplans.people.models import Club

# A link in a mail that opens a page without signing in holds for a week.
LINK_LIFE = timedelta(days=7)


class DigestQuerySet(models.QuerySet["Digest"]):
    def visible_to(self, user: Any) -> "DigestQuerySet":
        """A person's own, and for directors those of their club."""
        return self.filter(
            Q(recipient=user.pk) | Q(club__in=Club.objects.for_role(user, Role.DIRECTOR))
        )


class Digest(Row):
    """The page that one person gets for one ISO week; keeps its facts as sent."""

    class Kind(models.TextChoices):
        PLAYER = "player", _("player")
        GUARDIAN = "guardian", _("guardian")
        COACH = "coach", _("coach")
        DIRECTOR = "director", _("director")

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="digests")
    recipient = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="digests"
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    subject = models.UUIDField(help_text="Player; for a guardian his own id; squad; club.")
    iso_year = models.PositiveSmallIntegerField()
    iso_week = models.PositiveSmallIntegerField()
    facts = models.JSONField(default=dict)
    message = models.OneToOneField(
        Message, null=True, on_delete=models.SET_NULL, related_name="digest"
    )

    objects = DigestQuerySet.as_manager()

    class Meta:
        ordering = ["-iso_year", "-iso_week"]
        constraints = [
            models.UniqueConstraint(
                fields=["club", "recipient", "kind", "subject", "iso_year", "iso_week"],
                name="one_digest_per_week",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.iso_year}-W{self.iso_week:02d}"


class DigestLinkQuerySet(models.QuerySet["DigestLink"]):
    def behind(self, token_hash: str) -> "DigestLink | None":
        """The link with this hash, open or not."""
        rows = self.select_related("digest__recipient", "digest__club", "digest__message")
        return rows.filter(token_hash=token_hash).first()

    def told_of_in_old_mails(self) -> "DigestLinkQuerySet":
        """Those whose secret still stands in the outbox, in a mail that waits for nothing more."""
        waiting = [Message.State.PENDING, Message.State.SENDING]
        rows = self.filter(is_in_outbox=True, digest__message__isnull=False)
        return rows.exclude(digest__message__state__in=waiting).order_by("created_at")


class DigestLink(Row):
    """The secret address in a digest's mail that opens this one page without signing in.

    Only the hash of the secret is kept; out of the outbox it goes once the mail is sent.
    """

    digest = models.OneToOneField(Digest, on_delete=models.CASCADE, related_name="link")
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        help_text="Empty: ended on the page itself.",
    )
    is_in_outbox = models.BooleanField(default=True)

    objects = DigestLinkQuerySet.as_manager()

    def __str__(self) -> str:
        return f"link to {self.digest}"

    @property
    def is_open(self) -> bool:
        """Neither ended nor run out; whether its reader still has the right is another matter."""
        return self.revoked_at is None and timezone.now() < self.expires_at
