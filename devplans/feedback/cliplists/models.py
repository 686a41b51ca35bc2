"""Clips on one theme in an order, for a squad. Imported by devplans.feedback.models."""

from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Sum
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Skill
from devplans.core.models import Row
from devplans.film.models import Film, lacking_consent
from devplans.people.access import Role
from devplans.people.models import Squad

TITLE_LENGTH = 80
NOTE_LENGTH = 300


class ClipListQuerySet(models.QuerySet["ClipList"]):
    def visible_to(self, user: Any) -> "ClipListQuerySet":
        """Lists of squads that the user coaches or directs, and those a coach opened to his squad.

        An open list closes to the families while a player of the squad has no consent to be filmed.
        """
        return self.filter(
            Q(squad__in=Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR))
            | Q(
                ~Exists(lacking_consent().filter(squad=OuterRef("squad"))),
                open_to=Film.OpenTo.SQUAD,
                squad__in=Squad.objects.for_role(user, Role.PLAYER, Role.GUARDIAN),
            )
        )

    def for_staff(self, user: Any) -> "ClipListQuerySet":
        """Lists of squads that the user coaches or directs."""
        return self.filter(squad__in=Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR))

    def told(self) -> "ClipListQuerySet":
        """With squad and club, and with `clip_count` and `running_ms`; the last changed first."""
        playing = Q(items__removed_at=None, items__film__state=Film.State.READY)
        length = F("items__end_ms") - F("items__start_ms")
        return (
            self.select_related("squad__season__club", "author")
            .annotate(
                clip_count=models.Count("items", filter=Q(items__removed_at=None)),
                running_ms=Sum(length, filter=playing, default=0),
            )
            .order_by("-updated_at", "-pk")
        )

    def of_squads(self, squads: Iterable[Any]) -> "ClipListQuerySet":
        return self.filter(squad__in=squads)


class ClipList(Row):
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="clip_lists")
    title = models.CharField(_("title"), max_length=TITLE_LENGTH)
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    open_to = models.CharField(
        max_length=10, choices=Film.OpenTo.choices, default=Film.OpenTo.COACHES
    )
    shows_words = models.BooleanField(
        default=False, help_text="Are the notes shown over the film when the list is played?"
    )
    revision = models.PositiveIntegerField(
        default=0, help_text="Counts the changes; whoever changes it first holds the row."
    )

    objects = ClipListQuerySet.as_manager()

    class Meta:
        ordering = ["-updated_at"]

    def __str__(self) -> str:
        return self.title

    @property
    def is_open(self) -> bool:
        return self.open_to == Film.OpenTo.SQUAD


class ClipListItemQuerySet(models.QuerySet["ClipListItem"]):
    def visible_to(self, user: Any) -> "ClipListItemQuerySet":
        """The clips of the lists that the user may see."""
        return self.filter(clip_list__in=ClipList.objects.visible_to(user))

    def standing(self) -> "ClipListItemQuerySet":
        """Not taken out."""
        return self.filter(removed_at=None)

    def in_order(self) -> "ClipListItemQuerySet":
        return self.select_related("film", "skill", "comment").order_by("position", "pk")


class ClipListItem(Row):
    """A span of a film on a list, of a comment or bare. One that was taken out keeps its place."""

    clip_list = models.ForeignKey(ClipList, on_delete=models.CASCADE, related_name="items")
    position = models.PositiveIntegerField()
    film = models.ForeignKey(Film, null=True, on_delete=models.SET_NULL, related_name="+")
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField()
    comment = models.ForeignKey(
        "feedback.Comment", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    skill = models.ForeignKey(Skill, null=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=NOTE_LENGTH, blank=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    removed_at = models.DateTimeField(null=True)

    objects = ClipListItemQuerySet.as_manager()

    class Meta:
        ordering = ["position", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end_ms__gt=F("start_ms")), name="list_clip_ends_after_start"
            )
        ]

    def __str__(self) -> str:
        return f"clip {self.position} of {self.clip_list_id}"

    @property
    def length_ms(self) -> int:
        return self.end_ms - self.start_ms

    @property
    def moment_ms(self) -> int | None:
        """The frame that the comment is pinned to, if that lies in the span."""
        comment = self.comment
        if comment is None or not self.start_ms <= comment.start_ms < self.end_ms:
            return None
        return comment.start_ms

    @property
    def plays(self) -> bool:
        """Is its film there to be played?"""
        return self.film is not None and self.film.is_ready


class ListClipQuerySet(models.QuerySet["ListClip"]):
    def due(self) -> "ListClipQuerySet":
        """Those that may be claimed: waiting ones, save those that somebody is cutting."""
        free = Q(lease_until=None) | Q(lease_until__lt=timezone.now())
        return self.filter(free, state=ListClip.State.WAITING)


class ListClip(Row):
    """The cut file of one span of an open list: the families may watch that, and not the film."""

    class State(models.TextChoices):
        WAITING = "waiting"
        READY = "ready"
        FAILED = "failed"

    item = models.ForeignKey(ClipListItem, on_delete=models.CASCADE, related_name="clips")
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField()
    drawn = models.CharField(
        max_length=64, blank=True, help_text="Fingerprint of the drawing in it; empty: none."
    )
    length_ms = models.PositiveIntegerField(
        null=True, help_text="Of the file: it stands still for a while under its drawing."
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    video_key = models.CharField(max_length=200, blank=True)
    problem = models.CharField(max_length=300, blank=True)
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)

    objects = ListClipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "start_ms", "end_ms", "drawn"], name="one_list_clip_per_drawn_span"
            )
        ]

    def __str__(self) -> str:
        return f"cut of {self.item_id}"
