from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Skill
from devplans.core.models import Row
from devplans.film.models import Film, Possession
from devplans.people.models import Player


class TallyQuerySet(models.QuerySet["Tally"]):
    def visible_to(self, user: Any) -> "TallyQuerySet":
        """For the staff of the film's squad: one's own, and what others have closed.

        Whoever is still counting on a film does not see what others counted on it.
        """
        counting = Tally.objects.filter(coach=user.pk, closed_at=None, film=OuterRef("film"))
        others = Q(closed_at__isnull=False) & ~Exists(counting)
        return self.filter(Q(coach=user.pk) | others, film__in=Film.objects.for_staff(user))

    def of_film(self, film: Film) -> "TallyQuerySet":
        """With what a list says about them, the oldest first."""
        rows = self.filter(film=film).select_related("coach", "film__squad__season__club")
        return rows.prefetch_related("skills", "players").order_by("created_at")

    def closed(self) -> "TallyQuerySet":
        return self.exclude(closed_at=None)

    def with_film(self) -> "TallyQuerySet":
        """With what a page of one says about it."""
        return self.select_related("coach", "film__squad__season__club", "film__event")


class Tally(Row):
    """One coach's complete pass over a film, or over a random sample of its possessions."""

    class Scope(models.TextChoices):
        WHOLE = "whole", _("the whole film")
        SAMPLE = "sample", _("a random sample of possessions")

    film = models.ForeignKey(Film, on_delete=models.CASCADE, related_name="tallies")
    coach = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    scope = models.CharField(max_length=6, choices=Scope.choices)
    skills = models.ManyToManyField(Skill, related_name="+")
    players = models.ManyToManyField(Player, related_name="tallies")
    seed = models.BigIntegerField(
        null=True, help_text="Shuffles the possessions: the first `drawn` of them are the sample."
    )
    drawn = models.PositiveIntegerField(default=0)
    reached_ms = models.PositiveIntegerField(default=0, help_text="How far the film was watched.")
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = TallyQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["film", "coach"])]

    def __str__(self) -> str:
        return f"{self.get_scope_display()} by {self.coach}"

    @property
    def is_sample(self) -> bool:
        return self.scope == self.Scope.SAMPLE


class TallyPossession(Row):
    """One possession of the film as it was when a sampled tally began, in shuffled order.

    Kept apart from the film's own, so that nothing that is marked later changes what was drawn.
    """

    tally = models.ForeignKey(Tally, on_delete=models.CASCADE, related_name="possessions")
    place = models.PositiveIntegerField()
    side = models.CharField(max_length=6, choices=Possession.Side.choices)
    start_ms = models.PositiveIntegerField()
    end_ms = models.PositiveIntegerField()
    seen_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["tally", "place"], name="one_possession_per_place"),
            models.CheckConstraint(
                condition=Q(end_ms__gt=F("start_ms")), name="drawn_possession_ends_after_start"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.start_ms}–{self.end_ms} ms"


class TallyMarkQuerySet(models.QuerySet["TallyMark"]):
    def standing(self) -> "TallyMarkQuerySet":
        """Marks that were not undone."""
        return self.filter(undone_at=None)

    def of_tally(self, tally: Tally) -> "TallyMarkQuerySet":
        """Its standing marks by film time."""
        return self.standing().filter(tally=tally).order_by("film_ms", "created_at")


class TallyMark(Row):
    """One chance and whether it was taken. Its id is made where the key was pressed, so that a mark
    that is sent twice is there once."""

    tally = models.ForeignKey(Tally, on_delete=models.CASCADE, related_name="marks")
    possession = models.ForeignKey(
        TallyPossession, null=True, blank=True, on_delete=models.CASCADE, related_name="marks"
    )
    film_ms = models.PositiveIntegerField()
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="tally_marks")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="+")
    did_it = models.BooleanField()
    undone_at = models.DateTimeField(null=True, blank=True)

    objects = TallyMarkQuerySet.as_manager()

    class Meta:
        ordering = ["film_ms", "created_at"]

    def __str__(self) -> str:
        return f"{self.player} at {self.film_ms} ms: {'did it' if self.did_it else 'not yet'}"

    @property
    def verdict(self) -> str:
        return "did_it" if self.did_it else "not_yet"


class TallyWeekQuerySet(models.QuerySet["TallyWeek"]):
    def visible_to(self, user: Any) -> "TallyWeekQuerySet":
        """The counts of players whom the user may read."""
        return self.filter(player__in=Player.objects.visible_to(user))


class TallyWeek(Row):
    """What one closed tally says of one player and skill, filed under the week of its film.

    low, high: where a full count of the film would lie, 0..1; None for a whole film.
    """

    tally = models.ForeignKey(Tally, on_delete=models.CASCADE, related_name="weeks")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="tally_weeks")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="+")
    iso_year = models.PositiveSmallIntegerField()
    iso_week = models.PositiveSmallIntegerField()
    film_on = models.DateField()
    made = models.PositiveIntegerField()
    tried = models.PositiveIntegerField()
    low = models.FloatField(null=True)
    high = models.FloatField(null=True)

    objects = TallyWeekQuerySet.as_manager()

    class Meta:
        ordering = ["film_on"]
        indexes = [models.Index(fields=["player", "skill", "iso_year", "iso_week"])]
        constraints = [
            models.UniqueConstraint(
                fields=["tally", "player", "skill"], name="one_count_per_player_and_skill"
            ),
            models.CheckConstraint(
                condition=Q(made__lte=F("tried"), tried__gt=0), name="tally_made_at_most_tried"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.player}, {self.skill}: {self.made} of {self.tried}"
