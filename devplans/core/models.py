from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from devplans.core.ids import uuid7


class Row(models.Model):
    """What every table of ours has: a UUID version 7 and the times of writing."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


class AuditEntry(models.Model):
    """Who did what to which row. Written by services, never changed."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    at = models.DateTimeField(default=timezone.now, db_index=True)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    verb = models.CharField(max_length=60)
    table = models.CharField(max_length=60)
    row_id = models.CharField(max_length=40)
    club_id = models.UUIDField(null=True, db_index=True)
    player_id = models.UUIDField(null=True, db_index=True)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.verb}"


class MessageQuerySet(models.QuerySet["Message"]):
    def due(self, now: Any) -> "MessageQuerySet":
        """Messages that may be claimed now: waiting ones whose time has come, and ones whose lease
        ran out."""
        waiting = Q(state=Message.State.PENDING, not_before__lte=now)
        lost = Q(state=Message.State.SENDING, lease_until__lt=now)
        return self.filter(waiting | lost)

    def sent_to(self, user: Any) -> "MessageQuerySet":
        """The mails to one person, the latest first; withdrawn ones are no mails."""
        return self.filter(recipient=user.pk).exclude(state=Message.State.WITHDRAWN).order_by("-pk")


class Message(Row):
    """The outbox: every mail is a row here before it is a mail."""

    class State(models.TextChoices):
        PENDING = "pending"
        SENDING = "sending"
        SENT = "sent"
        FAILED = "failed"
        WITHDRAWN = "withdrawn"

    address = models.EmailField()
    recipient = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.CASCADE, related_name="messages"
    )
    kind = models.CharField(max_length=30)
    key = models.CharField(
        max_length=200, unique=True, help_text="One mail per key, however often it is asked for."
    )
    subject = models.CharField(max_length=300)
    text = models.TextField()
    html = models.TextField(blank=True)
    headers = models.JSONField(default=dict)
    inline = models.JSONField(
        default=list, help_text='[{"cid", "key", "type"}]: files sent inside the mail.'
    )
    club_id = models.UUIDField(null=True)
    player_id = models.UUIDField(
        null=True, help_text="The child that the mail is about, if it is one."
    )
    not_before = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PENDING)
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    message_id = models.CharField(max_length=200, unique=True)
    sent_at = models.DateTimeField(null=True)
    last_error = models.CharField(max_length=500, blank=True)

    objects = MessageQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["state", "not_before"])]

    def __str__(self) -> str:
        return f"{self.kind} to {self.address}"
