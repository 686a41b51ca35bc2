import uuid
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Drill
from devplans.core.models import Row
from devplans.people.access import Action, Role
from devplans.people.models import Player
from devplans.stats.weeks import Week
from devplans.workouts.attendance.models import Attendance as Attendance
from devplans.workouts.content import Content, SetContent, ShotContent


class WorkoutQuerySet(models.QuerySet["Workout"]):
    def visible_to(self, user: Any) -> "WorkoutQuerySet":
        """Workouts of players that the user may read; deleted ones never."""
        return self.filter(deleted_at=None, player__in=Player.objects.visible_to(user))

    def loggable_by(self, user: Any) -> "WorkoutQuerySet":
        """Workouts of players whom the user may log for, deleted ones too."""
        return self.filter(player__in=Player.objects.allowing(user, Action.LOG_WORKOUT))

    def find_own(self, user: Any, workout_id: UUID) -> "Workout | None":
        """The workout under this key, deleted or not; None where the key is free.

        Raises Workout.DoesNotExist where the key belongs to a player whom the user may not log for.
        """
        if not self.filter(pk=workout_id).exists():
            return None
        return self.loggable_by(user).get(pk=workout_id)

    def kept(self) -> "WorkoutQuerySet":
        """Not deleted."""
        return self.filter(deleted_at=None)

    def of_player(self, player_id: UUID) -> "WorkoutQuerySet":
        return self.filter(player=player_id)

    def with_content(self) -> "WorkoutQuerySet":
        """Together with their sets, drills and shots."""
        sets = WorkoutSet.objects.select_related("drill").order_by("position")
        return self.prefetch_related(
            models.Prefetch("sets", sets),
            models.Prefetch("shots", Shot.objects.order_by("position")),
        )

    def between(self, start: Any, end: Any) -> "WorkoutQuerySet":
        """Kept workouts that began in [start, end)."""
        return self.filter(deleted_at=None, started_at__gte=start, started_at__lt=end)


class Workout(models.Model):
    """What a player did, as the phone tells it. The phone makes the key; a deleted one leaves its
    key behind."""

    class Kind(models.TextChoices):
        OWN = "own", _("on your own")
        ORGANISED = "organised", _("with the team")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="workouts")
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    revision = models.PositiveBigIntegerField(default=1)
    started_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    effort = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(10)]
    )
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
            models.CheckConstraint(
                condition=Q(effort=None) | Q(effort__lte=10), name="effort_up_to_ten"
            )
        ]

    def __str__(self) -> str:
        return f"workout of {self.player} {self.started_at:%Y-%m-%d}"

    @property
    def load(self) -> int | None:
        """Effort times minutes; None until both are known."""
        if self.minutes is None or self.effort is None:
            return None
        return self.minutes * self.effort

    def content(self) -> Content:
        """What the phone said, in its order. Read `with_content` first where there are many."""
        sets = tuple(
            SetContent(s.pk, s.drill.slug, s.side, s.made, s.tried, s.reps, s.seconds)
            for s in self.sets.all()
        )
        shots = tuple(ShotContent(s.pk, s.x_mm, s.y_mm, s.made, s.set_id) for s in self.shots.all())
        return Content(
            self.player_id,
            self.started_at,
            self.minutes,
            self.effort,
            self.kind,
            self.pain,
            self.note,
            sets,
            shots,
        )


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
                condition=Q(made=None, tried=None) | Q(made__lte=F("tried")),
                name="made_at_most_tried",
            )
        ]

    def __str__(self) -> str:
        return f"set of {self.drill}"


class Shot(models.Model):
    """One shot; millimetres from the point under the ring, x to the right of a player facing it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    workout = models.ForeignKey(Workout, on_delete=models.CASCADE, related_name="shots")
    set = models.ForeignKey(
        WorkoutSet, null=True, blank=True, on_delete=models.CASCADE, related_name="shots"
    )
    position = models.PositiveSmallIntegerField()
    x_mm = models.IntegerField()
    y_mm = models.IntegerField()
    made = models.BooleanField()

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return "make" if self.made else "miss"


class PainAnswerQuerySet(models.QuerySet["PainAnswer"]):
    def open(self) -> "PainAnswerQuerySet":
        """Not answered yet, the oldest first."""
        return self.filter(answered_at=None).order_by("created_at")

    def near(self, user: Any) -> "PainAnswerQuerySet":
        """Of players to whom the user is family or coach; an office in the club is neither."""
        roles = (Role.PLAYER, Role.GUARDIAN, Role.COACH)
        return self.filter(player__in=Player.objects.for_role(user, *roles))

    def coached_by(self, user: Any) -> "PainAnswerQuerySet":
        return self.filter(player__in=Player.objects.for_role(user, Role.COACH))

    def of_family(self, user: Any) -> "PainAnswerQuerySet":
        """Of the user himself and of his children."""
        return self.filter(player__in=Player.objects.for_role(user, Role.PLAYER, Role.GUARDIAN))

    def with_people(self) -> "PainAnswerQuerySet":
        return self.select_related("player__club", "player__user", "workout", "answered_by")


class PainAnswer(Row):
    """One report of pain and the family's answer to it. Open until it is answered; what happens to
    the workout afterwards takes nothing away from it."""

    class Answer(models.TextChoices):
        GONE = "gone", _("It no longer hurts")
        RESTING = "resting", _("It is being rested")
        SEEING = "seeing", _("Someone qualified is looking at it")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="pain_answers")
    workout = models.ForeignKey(
        Workout, null=True, on_delete=models.SET_NULL, related_name="pain_answers"
    )
    said = models.TextField()
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    earlier = models.JSONField(default=list, help_text='What was said before: [{"at", "said"}].')
    taken_back_at = models.DateTimeField(null=True)
    answer = models.CharField(max_length=10, choices=Answer.choices, blank=True)
    note = models.TextField(blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    answered_at = models.DateTimeField(null=True)

    objects = PainAnswerQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["player", "answered_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["workout"],
                condition=Q(answered_at=None, workout__isnull=False),
                name="one_open_answer_per_workout",
            ),
            models.CheckConstraint(
                condition=Q(answered_at=None, answer="")
                | (Q(answered_at__isnull=False) & ~Q(answer="")),
                name="answered_with_an_answer",
            ),
        ]

    def __str__(self) -> str:
        return f"answer about {self.player} {self.said_at:%Y-%m-%d}"

    @property
    def is_open(self) -> bool:
        return self.answered_at is None

    @property
    def said_before(self) -> list[dict[str, Any]]:
        """The words that stood here first, each with its instant."""
        return [{**one, "at": datetime.fromisoformat(one["at"])} for one in self.earlier]


class OtherHoursQuerySet(models.QuerySet["OtherHours"]):
    def of_weeks(self, players: Any, weeks: Any) -> "OtherHoursQuerySet":
        """The rows of `players` in these (ISO year, ISO week)s."""
        found = Q(pk__in=[])
        for iso_year, iso_week in weeks:
            found |= Q(iso_year=iso_year, iso_week=iso_week)
        return self.filter(found, player__in=players)


class OtherHours(Row):
    """What the family told of one week's training elsewhere, in minutes; null where it skipped the
    question."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="other_hours")
    iso_year = models.PositiveSmallIntegerField()
    iso_week = models.PositiveSmallIntegerField()
    team_minutes = models.PositiveSmallIntegerField(
        null=True, help_text="Organised: basketball with another team."
    )
    sport_minutes = models.PositiveSmallIntegerField(
        null=True, help_text="Organised: another sport."
    )
    free_minutes = models.PositiveSmallIntegerField(null=True, help_text="Free play, any sport.")
    told_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = OtherHoursQuerySet.as_manager()

    class Meta:
        ordering = ["iso_year", "iso_week"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "iso_year", "iso_week"], name="one_telling_per_week"
            )
        ]

    def __str__(self) -> str:
        return f"hours elsewhere of {self.player}, {self.iso_year:04d}-W{self.iso_week:02d}"

    @property
    def is_skipped(self) -> bool:
        return self.team_minutes is None


class WeekRowQuerySet(models.QuerySet[Any]):
    """Rows of ISO weeks, each of one player."""

    def visible_to(self, user: Any) -> "WeekRowQuerySet":
        """The weeks of players that the user may read."""
        return self.filter(player__in=Player.objects.visible_to(user))

    def between_weeks(self, first: Week, last: Week) -> "WeekRowQuerySet":
        """From `first` to `last`, both included."""
        return self.filter(
            Q(iso_year__gt=first[0]) | Q(iso_year=first[0], iso_week__gte=first[1]),
            Q(iso_year__lt=last[0]) | Q(iso_year=last[0], iso_week__lte=last[1]),
        )


class WorkoutWeek(Row):
    """The sums of one player's ISO week, in the time zone of the club; there is none for a week
    without a workout. Null where nothing of the kind was logged. load: effort times minutes."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="workout_weeks")
    iso_year = models.PositiveSmallIntegerField()
    iso_week = models.PositiveSmallIntegerField()
    workouts = models.PositiveIntegerField()
    minutes_own = models.PositiveIntegerField(null=True)
    minutes_organised = models.PositiveIntegerField(null=True)
    load = models.PositiveBigIntegerField(null=True)
    reps = models.PositiveBigIntegerField(null=True)
    made = models.PositiveBigIntegerField(null=True)
    tried = models.PositiveBigIntegerField(null=True)
    daily_loads = models.JSONField(help_text="Seven numbers, Monday first; 0 where none is known.")

    objects = WeekRowQuerySet.as_manager()

    class Meta:
        ordering = ["iso_year", "iso_week"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "iso_year", "iso_week"], name="one_row_per_week"
            )
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.iso_year:04d}-W{self.iso_week:02d}"


class DrillWeek(Row):
    """The sums of one player's sets of one drill in an ISO week; null as in `WorkoutWeek`."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="drill_weeks")
    iso_year = models.PositiveSmallIntegerField()
    iso_week = models.PositiveSmallIntegerField()
    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="+")
    sets = models.PositiveIntegerField()
    reps = models.PositiveBigIntegerField(null=True)
    seconds = models.PositiveBigIntegerField(null=True)
    made = models.PositiveBigIntegerField(null=True)
    tried = models.PositiveBigIntegerField(null=True)
    sessions = models.JSONField(
        help_text="[[made, tried], ...]: one for each workout in which it was tried, by start."
    )

    objects = WeekRowQuerySet.as_manager()

    class Meta:
        ordering = ["iso_year", "iso_week"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "iso_year", "iso_week", "drill"], name="one_row_per_drill_week"
            )
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.iso_year:04d}-W{self.iso_week:02d}: {self.drill}"
