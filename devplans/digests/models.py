from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Message, Row
from devplans.people.access import Role
from devplans.people.models import Club


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
