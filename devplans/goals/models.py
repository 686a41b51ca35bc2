from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Drill, Skill
from devplans.core.models import Row
from devplans.feedback.models import Delivery
from devplans.people.access import Role
from devplans.people.models import Player, Squad
from devplans.workouts.shooting.words import ZONES

SHARE = [MinValueValidator(0), MaxValueValidator(1)]


class GoalQuerySet(models.QuerySet["Goal"]):
    def visible_to(self, user: Any) -> "GoalQuerySet":
        """Goals of players the user may read; drafts only for their coaches and directors."""
        staff = Player.objects.for_role(user, Role.COACH, Role.DIRECTOR)
        return self.filter(
            Q(player__in=staff)
            | (Q(player__in=Player.objects.visible_to(user)) & ~Q(life=Goal.Life.DRAFT))
        )

    def live(self) -> "GoalQuerySet":
        return self.filter(life=Goal.Life.LIVE)

    def begun(self) -> "GoalQuerySet":
        return self.exclude(started_on=None)

    def of_player(self, player: Player) -> "GoalQuerySet":
        """The goals of one player: live ones first, closed ones last, the next due first."""
        order = models.Case(
            *(models.When(life=life, then=place) for place, life in enumerate(Goal.Life.values)),
            default=len(Goal.Life.values),
        )
        order_live_first = models.Case(models.When(life=Goal.Life.LIVE, then=-1), default=order)
        return (
            self.filter(player=player)
            .select_related("skill", "drill")
            .order_by(order_live_first, "due_on", "created_at")
        )


class Goal(Row):
    """One skill, one player, one measure."""

    class Measure(models.TextChoices):
        FILM_RATE = "film_rate", _("how often on film (did it of chances)")
        DRILL_SHARE = "drill_share", _("share made in a drill")
        ZONE_SHARE = "zone_share", _("share made from one zone of the court")
        DRILL_MARK = "drill_mark", _("sets of a drill that reach a mark")
        REPS_PER_WEEK = "reps_per_week", _("reps a week")

    class Mark(models.TextChoices):
        """What a set has to reach."""

        SECONDS_LEAST = "seconds_least", _("seconds held, at least")
        SECONDS_MOST = "seconds_most", _("seconds taken, at most")
        MAKES_LEAST = "makes_least", _("made in a set, at least")

    class Life(models.TextChoices):
        DRAFT = "draft", _("draft")
        LIVE = "live", _("live")
        PAUSED = "paused", _("paused")
        CLOSED = "closed", _("closed")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="goals")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="goals")
    measure = models.CharField(max_length=20, choices=Measure.choices)
    drill = models.ForeignKey(
        Drill, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    zone = models.CharField(
        max_length=20, blank=True, help_text="A zone of stats.court, told by the club's rule set."
    )
    mark_kind = models.CharField(max_length=20, choices=Mark.choices, blank=True)
    mark = models.PositiveIntegerField(null=True, blank=True)
    words = models.CharField(_("in plain words"), max_length=200, blank=True)
    start_made = models.PositiveIntegerField(null=True, blank=True)
    start_tried = models.PositiveIntegerField(null=True, blank=True)
    start_reps = models.PositiveIntegerField(null=True, blank=True)
    start_sessions = models.JSONField(
        default=list,
        help_text="[[made, tried], ...] behind the starting point, kept when the goal goes live; "
        "empty where the starting point was typed in.",
    )
    start_coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL,
        related_name="+", help_text="Who counted the films behind the starting point.",
    )  # fmt: skip
    target_share = models.FloatField(null=True, blank=True, validators=SHARE)
    target_reps = models.PositiveIntegerField(null=True, blank=True)
    chances_needed = models.PositiveIntegerField(null=True, blank=True)
    review_dates = models.JSONField(
        default=list, help_text="ISO dates, fixed when the goal goes live."
    )
    due_on = models.DateField()
    life = models.CharField(max_length=10, choices=Life.choices, default=Life.DRAFT)
    closing_words = models.TextField(blank=True)
    started_on = models.DateField(null=True, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = GoalQuerySet.as_manager()

    class Meta:
        ordering = ["due_on", "created_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(start_made=None) | Q(start_made__lte=F("start_tried")),
                name="start_made_at_most_tried",
            ),
            models.CheckConstraint(
                condition=Q(measure="reps_per_week", target_reps__isnull=False)
                | (~Q(measure="reps_per_week") & Q(target_share__isnull=False)),
                name="goal_has_its_target",
            ),
            models.CheckConstraint(
                condition=~Q(measure="zone_share") | ~Q(zone=""), name="goal_has_its_zone"
            ),
            models.CheckConstraint(
                condition=~Q(measure="drill_mark") | (~Q(mark_kind="") & Q(mark__isnull=False)),
                name="goal_has_its_mark",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.skill} for {self.player}"

    @property
    def zone_label(self) -> str:
        """The name of its zone; "" where it has none."""
        return str(ZONES.get(self.zone, self.zone))


class GoalReviewQuerySet(models.QuerySet["GoalReview"]):
    def visible_to(self, user: Any) -> "GoalReviewQuerySet":
        return self.filter(goal__in=Goal.objects.visible_to(user))

    def of_goal(self, goal: Goal) -> "GoalReviewQuerySet":
        """The latest first."""
        return self.filter(goal=goal).order_by("-number")

    def count_by_goal(self, goals: Any) -> dict[Any, int]:
        rows = self.filter(goal__in=goals).order_by().values_list("goal")
        return dict(rows.annotate(models.Count("pk")))


class GoalReview(Row):
    """What could be said of a goal on one of its fixed dates. Written once and kept as written.

    low, high: interval of the difference to the starting point, -1..1. window_from, window_until:
    days, both included. more_needed: further tries in such a window that would show ten points.
    """

    class Word(models.TextChoices):
        UP = "up", _("Up")
        DOWN = "down", _("Down")
        SAME = "same", _("About the same")
        UNSURE = "not enough evidence yet", _("Not enough evidence yet")

    goal = models.ForeignKey(Goal, on_delete=models.CASCADE, related_name="reviews")
    number = models.PositiveSmallIntegerField()
    of = models.PositiveSmallIntegerField()
    reviewed_on = models.DateField()
    window_from = models.DateField()
    window_until = models.DateField()
    word = models.CharField(max_length=30, choices=Word.choices)
    low = models.FloatField(null=True)
    high = models.FloatField(null=True)
    made = models.PositiveIntegerField(null=True)
    tried = models.PositiveIntegerField(null=True)
    start_made = models.PositiveIntegerField(null=True)
    start_tried = models.PositiveIntegerField(null=True)
    reps = models.PositiveIntegerField(null=True, help_text="A week, on average.")
    start_reps = models.PositiveIntegerField(null=True)
    confidence = models.FloatField()
    more_needed = models.PositiveIntegerField(null=True)
    sentence = models.TextField()

    objects = GoalReviewQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["goal", "number"], name="one_review_per_number"),
            models.CheckConstraint(
                condition=Q(number__gte=1, number__lte=F("of")), name="review_is_one_of_its_goal"
            ),
        ]

    def __str__(self) -> str:
        return f"review {self.number} of {self.of}: {self.word}"


class GoalExampleQuerySet(models.QuerySet["GoalExample"]):
    def visible_to(self, user: Any) -> "GoalExampleQuerySet":
        """Examples whose goal and whose delivery the user may read; none that was taken back."""
        return self.filter(
            goal__in=Goal.objects.visible_to(user),
            delivery__in=Delivery.objects.visible_to(user).standing(),
        )

    def of_goal(self, goal: Goal) -> "GoalExampleQuerySet":
        """With what a page says about them, the latest first."""
        rows = self.filter(goal=goal).select_related("delivery__comment__skill")
        return rows.order_by("-delivery__sent_at")


class GoalExample(Row):
    """A delivery that shows what the goal is about. It illustrates; it is not evidence."""

    goal = models.ForeignKey(Goal, on_delete=models.CASCADE, related_name="examples")
    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="goal_examples")

    objects = GoalExampleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["goal", "delivery"], name="one_example_per_delivery")
        ]

    def __str__(self) -> str:
        return f"example for {self.goal}"


class PlanItemQuerySet(models.QuerySet["PlanItem"]):
    def visible_to(self, user: Any) -> "PlanItemQuerySet":
        """Plan items of players whom the user may read; of drafts, for their staff only."""
        return self.filter(
            Q(goal=None) | Q(goal__in=Goal.objects.visible_to(user)),
            player__in=Player.objects.visible_to(user),
        )

    def in_week(self, first: date) -> "PlanItemQuerySet":
        """Items whose span holds the week that begins on the Monday `first`."""
        return self.filter(Q(until_week=None) | Q(until_week__gte=first), from_week__lte=first)

    def spanning(self, first: date, count: int) -> "PlanItemQuerySet":
        """Items that are in one of the `count` weeks from the Monday `first` on."""
        last = first + timedelta(weeks=count - 1)
        return self.filter(Q(until_week=None) | Q(until_week__gte=first), from_week__lte=last)

    def of_player(self, player: Player) -> "PlanItemQuerySet":
        """With their drills and goals, the oldest first."""
        rows = self.filter(player=player).select_related("drill", "goal__skill", "player__club")
        return rows.order_by("from_week", "created_at")

    def of_goal(self, goal: Goal) -> "PlanItemQuerySet":
        """With their drills: what runs first, then what has ended, the latest first."""
        rows = self.filter(goal=goal).select_related("drill", "goal")
        return rows.order_by(F("until_week").desc(nulls_first=True), "created_at")

    def running(self) -> "PlanItemQuerySet":
        """Items that have no last week yet."""
        return self.filter(until_week=None)

    def ended(self) -> "PlanItemQuerySet":
        return self.exclude(until_week=None)

    def asked_for(self) -> "PlanItemQuerySet":
        """Items of no goal, and of goals that have begun."""
        return self.exclude(goal__life=Goal.Life.DRAFT)

    def to_work_on(self) -> "PlanItemQuerySet":
        """What is asked for now: not while a goal is paused."""
        return self.asked_for().exclude(goal__life=Goal.Life.PAUSED)


class PlanItem(Row):
    """A drill with a weekly target in a span of weeks. A past target never changes: a change ends
    this row last Sunday and begins another."""

    class Target(models.TextChoices):
        REPS = "reps", _("reps")
        MAKES = "makes", _("makes")
        TRIES = "tries", _("tries")

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="plan_items")
    goal = models.ForeignKey(
        Goal, null=True, blank=True, on_delete=models.CASCADE, related_name="plan_items"
    )
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="+")
    target_in = models.CharField(max_length=10, choices=Target.choices)
    weekly_target = models.PositiveIntegerField(validators=[MinValueValidator(1)])
    from_week = models.DateField(help_text="The Monday of the first week.")
    until_week = models.DateField(null=True, blank=True, help_text="The Monday of the last week.")
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = PlanItemQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["player", "drill"],
                condition=Q(until_week=None),
                name="one_running_item_per_drill",
            ),
            models.CheckConstraint(
                condition=Q(until_week=None) | Q(until_week__gte=F("from_week")),
                name="plan_item_ends_after_start",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.drill} for {self.player}"

    def is_in_week(self, first: date) -> bool:
        """Does its span hold the week that begins on the Monday `first`?"""
        return self.from_week <= first and (self.until_week is None or first <= self.until_week)


class FeedTokenQuerySet(models.QuerySet["FeedToken"]):
    def open(self) -> "FeedTokenQuerySet":
        """Addresses that were not ended, of people who may still sign in."""
        return self.filter(ended_at=None, user__is_active=True)

    def behind(self, token_hash: str) -> "FeedToken | None":
        """The address with this hash, if it is open."""
        rows = self.open().select_related("user", "player__club", "squad__season__club")
        return rows.filter(token_hash=token_hash).first()

    def of_user(self, user: Any) -> "FeedTokenQuerySet":
        return self.open().filter(user=user.pk)


class FeedToken(Row):
    """A secret address under which one person's calendar reads the dates of a player or a squad.

    Only the hash of the secret is kept. Whoever lost it gets a new one, and the old one ends.
    """

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_tokens"
    )
    player = models.ForeignKey(
        Player, null=True, blank=True, on_delete=models.CASCADE, related_name="feed_tokens"
    )
    squad = models.ForeignKey(
        Squad, null=True, blank=True, on_delete=models.CASCADE, related_name="feed_tokens"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    issued_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = FeedTokenQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(player=None, squad__isnull=False) | Q(player__isnull=False, squad=None),
                name="feed_of_player_or_squad",
            ),
            models.UniqueConstraint(fields=["user", "player"], name="one_feed_per_player"),
            models.UniqueConstraint(fields=["user", "squad"], name="one_feed_per_squad"),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.player or self.squad} for {self.user}"
