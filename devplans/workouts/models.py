import uuid
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Drill
from devplans.people.models import Player


class WorkoutQuerySet(models.QuerySet["Workout"]):
    def visible_to(self, user: Any) -> "WorkoutQuerySet":
        """Workouts of players that the user may read; deleted ones never."""
        return self.filter(deleted_at=None, player__in=Player.objects.visible_to(user))

    def between(self, start: Any, end: Any) -> "WorkoutQuerySet":
        """Kept workouts that began in [start, end)."""
        return self.filter(deleted_at=None, started_at__gte=start, started_at__lt=end)


class Workout(models.Model):
    """What a player did, as the phone tells it. The phone makes the key; a deleted one leaves its key behind."""

    class Kind(models.TextChoices):
        OWN = "own", _("on your own")
        ORGANISED = "organised", _("with the team")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="workouts")
    logged_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    revision = models.PositiveIntegerField(default=1)
    started_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    effort = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MaxValueValidator(10)])
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.OWN)
    pain = models.TextField(blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)
    deleted_at = models.DateTimeField(null=True)

    objects = WorkoutQuerySet.as_manager()

    class Meta:
        ordering = ["-started_at"]
        indexes = [models.Index(fields=["player", "-started_at"])]
        constraints = [
            models.CheckConstraint(condition=Q(effort=None) | Q(effort__lte=10), name="effort_up_to_ten")
        ]

    def __str__(self) -> str:
        return f"workout of {self.player} {self.started_at:%Y-%m-%d}"


class WorkoutSet(models.Model):
    class Side(models.TextChoices):
        NONE = "none", _("no side")
        LEFT = "left", _("left")
        RIGHT = "right", _("right")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    workout = models.ForeignKey(Workout, on_delete=models.CASCADE, related_name="sets")
    position = models.PositiveSmallIntegerField()
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    side = models.CharField(max_length=5, choices=Side.choices, default=Side.NONE)
    made = models.PositiveIntegerField(null=True, blank=True)
    tried = models.PositiveIntegerField(null=True, blank=True)
    reps = models.PositiveIntegerField(null=True, blank=True)
    seconds = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.CheckConstraint(
                condition=Q(made=None, tried=None) | Q(made__lte=F("tried")), name="made_at_most_tried"
            )
        ]

    def __str__(self) -> str:
        return f"set of {self.drill}"


class Shot(models.Model):
    """One shot; millimetres from the point under the ring, x to the right of a player facing it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    workout = models.ForeignKey(Workout, on_delete=models.CASCADE, related_name="shots")
    set = models.ForeignKey(WorkoutSet, null=True, blank=True, on_delete=models.CASCADE, related_name="shots")
    position = models.PositiveSmallIntegerField()
    x_mm = models.IntegerField()
    y_mm = models.IntegerField()
    made = models.BooleanField()

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return "make" if self.made else "miss"
