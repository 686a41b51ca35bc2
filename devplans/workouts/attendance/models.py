from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Row
from devplans.people.models import Player
from devplans.schedule.models import Event


class AttendanceQuerySet(models.QuerySet["Attendance"]):
    def of_event(self, event: Event) -> "AttendanceQuerySet":
        return self.filter(event=event.pk)

    def present_between(self, start: Any, end: Any) -> "AttendanceQuerySet":
        """Who was there, of dates that stand and began in [start, end)."""
        return self.filter(
            state=Attendance.State.PRESENT,
            event__cancelled_at=None,
            event__starts_at__gte=start,
            event__starts_at__lt=end,
        )


class Attendance(Row):
    """What a coach ticked for one player and one date; no row: nobody has said."""

    class State(models.TextChoices):
        PRESENT = "present", _("present")
        EXCUSED = "excused", _("excused")
        ABSENT = "absent", _("absent")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="attendances")
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="attendances")
    state = models.CharField(max_length=7, choices=State.choices)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = AttendanceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["player", "event"], name="one_mark_per_date")
        ]

    def __str__(self) -> str:
        return f"{self.player}: {self.state}"
