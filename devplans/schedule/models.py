from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Row
from devplans.people.models import Squad


class EventQuerySet(models.QuerySet["Event"]):
    def visible_to(self, user: Any) -> "EventQuerySet":
        """Dates of the squads that the user may read."""
        return self.filter(squad__in=Squad.objects.visible_to(user))

    def upcoming(self, now: datetime) -> "EventQuerySet":
        """What has not ended and is not cancelled, soonest first."""
        return self.ahead(now).filter(cancelled_at=None)

    def ahead(self, now: datetime) -> "EventQuerySet":
        """What has not ended, cancelled dates too, soonest first."""
        return self.filter(ends_at__gte=now).order_by("starts_at", "pk")

    def over(self, now: datetime) -> "EventQuerySet":
        """What has ended, cancelled dates too, the latest first."""
        return self.filter(ends_at__lt=now).order_by("-starts_at", "-pk")

    def since(self, start: datetime) -> "EventQuerySet":
        """What ends at `start` or later, cancelled dates too, in their order."""
        return self.filter(ends_at__gte=start).order_by("starts_at", "pk")

    def of_squads(self, squads: Any) -> "EventQuerySet":
        """The dates of these squads, each with what a page says about it."""
        return self.filter(squad__in=squads).select_related("squad__season__club")

    def series_from(self, event: "Event") -> "EventQuerySet":
        """`event` and, if it repeats, the later dates of its series; those that still stand."""
        if event.series is None:
            return self.filter(pk=event.pk, cancelled_at=None)
        later = self.filter(squad=event.squad_id, series=event.series)
        return later.filter(starts_at__gte=event.starts_at, cancelled_at=None)


class Event(Row):
    class Kind(models.TextChoices):
        GAME = "game", _("game")
        PRACTICE = "practice", _("practice")

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="events")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    opponent = models.CharField(max_length=80, blank=True)
    place = models.CharField(max_length=120, blank=True)
    series = models.UUIDField(
        null=True, blank=True, help_text="Shared by the dates made by one weekly repeat."
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)
    sequence = models.PositiveIntegerField(
        default=0, help_text="How often it was changed; calendars take the higher one."
    )

    objects = EventQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at"]
        indexes = [models.Index(fields=["squad", "starts_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="event_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def title(self) -> str:
        """What it is called on pages and in mails."""
        if self.kind == self.Kind.PRACTICE:
            return str(_("Practice"))
        if not self.opponent:
            return str(_("Game"))
        return _("Game v %(opponent)s") % {"opponent": self.opponent}

    @property
    def zone(self) -> str:
        """The time zone in which its times are meant."""
        return self.squad.season.club.zone
