from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Row
from devplans.film.clock import Rules
from devplans.film.fetching.rows import Fetch
from devplans.people.access import Role
from devplans.people.models import Consent, Squad, SquadPlayer
from devplans.schedule.models import Event


def lacking_consent() -> models.QuerySet[SquadPlayer]:
    """Places in squads, of today, of players without a valid consent to be filmed."""
    agreed = Consent.objects.valid().filter(kind=Consent.Kind.FILM)
    return SquadPlayer.objects.current().exclude(player__in=agreed.values("player"))


class FilmQuerySet(models.QuerySet["Film"]):
    def visible_to(self, user: Any) -> "FilmQuerySet":
        """Films of squads that the user coaches or directs, and those a coach opened to his squad.

        While its files are on their way a film is there for the squad's coaches alone. An open
        film closes to the families while a player of the squad has no consent to be filmed.
        """
        arrived = ~Q(state=Film.State.UPLOADING)
        return self.filter(
            Q(squad__in=Squad.objects.for_role(user, Role.COACH))
            | Q(arrived, squad__in=Squad.objects.for_role(user, Role.DIRECTOR))
            | Q(
                ~Exists(lacking_consent().filter(squad=OuterRef("squad"))),
                open_to=Film.OpenTo.SQUAD,
                state=Film.State.READY,
                squad__in=Squad.objects.for_role(user, Role.PLAYER, Role.GUARDIAN),
            )
        )

    def for_staff(self, user: Any) -> "FilmQuerySet":
        """Films of squads that the user coaches or directs."""
        return self.filter(squad__in=Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR))

    def arrived(self) -> "FilmQuerySet":
        """Those whose files are all there."""
        return self.exclude(state=Film.State.UPLOADING)

    def sent_by(self, user: Any) -> "FilmQuerySet":
        """Those that this user began to send and that are not there yet."""
        return self.filter(state=Film.State.UPLOADING, uploaded_by=user)

    def abandoned(self, begun_before: datetime, now: datetime) -> "FilmQuerySet":
        """On their way, and nobody goes on: an upload ran out, or one was never begun in time."""
        uploads = Upload.objects.open().filter(file__film=OuterRef("pk"))
        ran_out = Exists(uploads.filter(expires_at__lt=now))
        goes_on = Exists(uploads.filter(expires_at__gte=now))
        late = Q(updated_at__lt=begun_before)
        return self.filter(ran_out | late, ~goes_on, state=Film.State.UPLOADING)

    def newest_first(self) -> "FilmQuerySet":
        """By the day they show, with what a list says about them."""
        shown = Coalesce("recorded_at", "created_at")
        return self.select_related("squad__season__club", "event").order_by(shown.desc(), "-pk")

    def unfinished(self) -> "FilmQuerySet":
        """Waiting or being prepared."""
        return self.filter(state__in=[Film.State.WAITING, Film.State.PREPARING])

    def claimable(self, now: datetime) -> "FilmQuerySet":
        """Films that may be prepared now: never begun, or nobody keeps up their lease any more.

        Not those that are still being fetched.
        """
        free = Q(lease_until=None) | Q(lease_until__lt=now)
        fetched = Fetch.objects.running().filter(film=OuterRef("pk"))
        return self.unfinished().filter(free, ~Exists(fetched))


class Film(Row):
    class State(models.TextChoices):
        UPLOADING = "uploading", _("on its way")
        WAITING = "waiting", _("waiting")
        PREPARING = "preparing", _("being prepared")
        READY = "ready", _("ready")
        FAILED = "failed", _("could not be read")

    class OpenTo(models.TextChoices):
        COACHES = "coaches", _("coaches only")
        SQUAD = "squad", _("the whole squad")

    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="films")
    event = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.SET_NULL, related_name="films"
    )
    title = models.CharField(_("title"), max_length=120)
    recorded_at = models.DateTimeField(null=True, blank=True)
    open_to = models.CharField(max_length=10, choices=OpenTo.choices, default=OpenTo.COACHES)
    uploaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

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
    frames_key = models.CharField(max_length=200, blank=True)

    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    ready_at = models.DateTimeField(null=True)
    # When somebody last waited for it; since when, and from what progress on, it is worked on.
    wanted_at = models.DateTimeField(null=True)
    begun_at = models.DateTimeField(null=True)
    begun_share = models.FloatField(default=0)
    # See devplans.film.noting, and devplans.film.sprite with the `keys` of its sheets.
    notes = models.JSONField(default=list, blank=True)
    sprite = models.JSONField(default=dict, blank=True)

    # Of this game where they are not those of the club's rule set; all three or none.
    period_count = models.PositiveSmallIntegerField(null=True, blank=True)
    period_s = models.PositiveSmallIntegerField(null=True, blank=True)
    overtime_s = models.PositiveSmallIntegerField(null=True, blank=True)

    objects = FilmQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        indexes = [models.Index(fields=["squad", "-created_at"])]

    def __str__(self) -> str:
        return self.title

    @property
    def is_ready(self) -> bool:
        return self.state == self.State.READY

    @property
    def is_unfinished(self) -> bool:
        return self.state in {self.State.WAITING, self.State.PREPARING}

    @property
    def is_being_fetched(self) -> bool:
        """Does it wait for its file, which comes from an https address?"""
        return self.state == self.State.WAITING and Fetch.objects.running().of_film(self).exists()

    @property
    def may_be_fetched_again(self) -> bool:
        return self.state == self.State.FAILED and Fetch.objects.ended().of_film(self).exists()

    @property
    def is_uploading(self) -> bool:
        return self.state == self.State.UPLOADING

    @property
    def is_on_its_way(self) -> bool:
        """Being sent, or prepared from what was sent: who has the file can play it meanwhile."""
        return self.is_uploading or (self.is_unfinished and not self.is_being_fetched)

    def original_keys(self) -> list[str]:
        """Keys of the original files in their order; empty while one of them is on its way."""
        keys = list(self.files.values_list("key", flat=True))
        if not keys:
            return [self.original_key] if self.original_key else []
        return keys if all(keys) else []

    @property
    def shown_at(self) -> datetime:
        """When it was filmed, as far as we know."""
        return self.recorded_at or self.created_at


class FilmFile(Row):
    """One of the original files that make a film, one after the other, by `position` from 0.

    `key` is empty until the file is there; `duration_ms` is None until it was read.
    """

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="files")
    position = models.PositiveSmallIntegerField(default=0)
    filename = models.CharField(max_length=200, blank=True)
    key = models.CharField(max_length=200, blank=True)
    size_bytes = models.PositiveBigIntegerField(default=0)
    duration_ms = models.PositiveIntegerField(null=True)

    class Meta:
        ordering = ["position", "created_at"]

    def __str__(self) -> str:
        return self.filename or f"file {self.position + 1}"


class UploadQuerySet(models.QuerySet["Upload"]):
    def of_user(self, user: Any) -> "UploadQuerySet":
        """What this user sends, and nobody else may go on with."""
        return self.filter(user=user).select_related("file__film__squad__season")

    def open(self) -> "UploadQuerySet":
        """Not complete yet."""
        return self.filter(complete_at=None)

    def expired(self, now: datetime) -> "UploadQuerySet":
        return self.open().filter(expires_at__lt=now)


class Upload(Row):
    """A file on its way. How much of it is there, only the store of parts knows.

    Of a film's first file the key is the film's own. `handle` is what the store calls the part;
    `fingerprint` is by what the sender knows the same file again.
    """

    file = models.OneToOneField(FilmFile, on_delete=models.CASCADE, related_name="upload")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="uploads"
    )
    length = models.PositiveBigIntegerField()
    handle = models.CharField(max_length=1200, blank=True)
    fingerprint = models.CharField(max_length=200, blank=True)
    expires_at = models.DateTimeField(db_index=True)
    complete_at = models.DateTimeField(null=True)

    objects = UploadQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]

    def __str__(self) -> str:
        return f"{self.file}, {self.length} bytes"


class OfFilmQuerySet(models.QuerySet[Any]):
    def visible_to(self, user: Any) -> "OfFilmQuerySet":
        """What was marked on the films of squads that the user coaches or directs."""
        return self.filter(film__in=Film.objects.for_staff(user))

    def of_film(self, film: Film) -> "OfFilmQuerySet":
        return self.filter(film=film)


class Possession(Row):
    """A stretch of a film that belongs to one side. `end_ms` is None while it is being marked."""

    class Side(models.TextChoices):
        OURS = "ours", _("our ball")
        THEIRS = "theirs", _("their ball")

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="possessions")
    side = models.CharField(max_length=6, choices=Side.choices)
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField(null=True, blank=True)

    objects = OfFilmQuerySet.as_manager()

    class Meta:
        ordering = ["start_ms"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end_ms=None) | Q(end_ms__gt=F("start_ms")),
                name="possession_ends_after_start",
            ),
            models.UniqueConstraint(
                fields=["film", "start_ms"], name="one_possession_starts_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_side_display()} from {self.start_ms} ms"


class ClockMark(Row):
    """Ties a film time to a period and what the game clock showed then, in seconds left."""

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="clock_marks")
    film_ms = models.PositiveIntegerField()
    period = models.PositiveSmallIntegerField()
    clock_s = models.DecimalField(max_digits=5, decimal_places=1)

    objects = OfFilmQuerySet.as_manager()

    class Meta:
        ordering = ["film_ms"]
        constraints = [
            models.UniqueConstraint(fields=["film", "film_ms"], name="one_clock_mark_at_a_time")
        ]

    def __str__(self) -> str:
        return f"period {self.period}, {self.clock_s} s left, at {self.film_ms} ms"


class FilmPart(Row):
    """What one coach works through, where two share a film."""

    class Part(models.TextChoices):
        OURS = "ours", _("our ball")
        THEIRS = "theirs", _("their ball")
        FIRST = "first", _("first half")
        SECOND = "second", _("second half")

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="parts")
    coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="film_parts"
    )
    part = models.CharField(max_length=6, choices=Part.choices)

    objects = OfFilmQuerySet.as_manager()

    class Meta:
        ordering = ["part"]
        constraints = [
            models.UniqueConstraint(fields=["film", "coach"], name="one_part_of_a_film_per_coach"),
            models.UniqueConstraint(fields=["film", "part"], name="one_coach_per_part_of_a_film"),
        ]

    def __str__(self) -> str:
        return f"{self.coach}: {self.get_part_display()}"

    @property
    def side(self) -> str:
        """The side of the ball it is; "" for a half."""
        return self.part if self.part in {self.Part.OURS, self.Part.THEIRS} else ""

    def periods(self, rules: Rules) -> list[int]:
        """The periods it is, under the rules of the game; overtime belongs to the second half.
        Empty for a side of the ball."""
        first = (rules.periods + 1) // 2
        if self.part == self.Part.FIRST:
            return list(range(1, first + 1))
        if self.part == self.Part.SECOND:
            return list(range(first + 1, rules.last_period + 1))
        return []
