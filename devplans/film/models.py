from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Row
from devplans.people.access import Role
from devplans.people.models import Squad
from devplans.schedule.models import Event


class FilmQuerySet(models.QuerySet["Film"]):
    def visible_to(self, user: Any) -> "FilmQuerySet":
        """Films of squads that the user coaches or directs, and those a coach opened to his squad."""
        return self.filter(
            Q(squad__in=Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR))
            | Q(
                open_to=Film.OpenTo.SQUAD,
                state=Film.State.READY,
                squad__in=Squad.objects.for_role(user, Role.PLAYER, Role.GUARDIAN),
            )
        )


class Film(Row):
    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        PREPARING = "preparing", _("being prepared")
        READY = "ready", _("ready")
        FAILED = "failed", _("could not be read")

    class OpenTo(models.TextChoices):
        COACHES = "coaches", _("coaches only")
        SQUAD = "squad", _("the whole squad")

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="films")
    event = models.ForeignKey(Event, null=True, blank=True, on_delete=models.SET_NULL, related_name="films")
    title = models.CharField(_("title"), max_length=120)
    recorded_at = models.DateTimeField(null=True, blank=True)
    open_to = models.CharField(max_length=10, choices=OpenTo.choices, default=OpenTo.COACHES)
    uploaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")

    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    progress = models.FloatField(default=0)
    problem = models.CharField(max_length=300, blank=True)
    duration_ms = models.PositiveIntegerField(null=True)
    width = models.PositiveIntegerField(null=True)
    height = models.PositiveIntegerField(null=True)
    size_bytes = models.PositiveBigIntegerField(default=0)

    original_key = models.CharField(max_length=200, blank=True)
    playable_key = models.CharField(max_length=200, blank=True)
    poster_key = models.CharField(max_length=200, blank=True)

    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    ready_at = models.DateTimeField(null=True)

    objects = FilmQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return self.title
