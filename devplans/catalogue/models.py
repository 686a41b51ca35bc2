from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from devplans.core.models import Row
from devplans.people.models import Club


class CatalogueQuerySet(models.QuerySet[Any]):
    def visible_to(self, user: Any) -> "CatalogueQuerySet":
        """The shipped rows and those of the user's clubs, retired ones too: comments name them."""
        return self.filter(Q(club=None) | Q(club__in=Club.objects.visible_to(user)))

    def for_club(self, club: Club) -> "CatalogueQuerySet":
        return self.filter(Q(club=None) | Q(club=club))

    def in_use(self) -> "CatalogueQuerySet":
        """Rows that may be picked for something new."""
        return self.filter(retired_at=None)

    def retired_of(self, clubs: Any) -> "CatalogueQuerySet":
        """What these clubs retired of their own."""
        return self.filter(club__in=clubs).exclude(retired_at=None).select_related("club")


class SkillQuerySet(CatalogueQuerySet):
    def matching(self, text: str, drills: CatalogueQuerySet) -> "SkillQuerySet":
        """Skills with `text` in their name, family or one of `drills`; all for an empty text."""
        if not text:
            return self
        named = Q(name__icontains=text) | Q(family__icontains=text)
        drilled = drills.filter(name__icontains=text).values("skill")
        return self.filter(named | Q(pk__in=drilled))

    def families(self) -> list[str]:
        """The names of the families, each once."""
        return list(self.order_by("family").values_list("family", flat=True).distinct())

    def pk_of(self, slug: str) -> Any:
        """The key of the first skill with this slug; None where there is none."""
        return self.filter(slug=slug).values_list("pk", flat=True).first()


class Skill(Row):
    club = models.ForeignKey(
        Club, null=True, blank=True, on_delete=models.CASCADE, related_name="skills"
    )
    slug = models.SlugField(max_length=60)
    family = models.CharField(_("family"), max_length=40)
    name = models.CharField(_("name"), max_length=80)
    opportunity = models.CharField(_("what counts as a chance"), max_length=200)
    cues = models.JSONField(
        _("cues"), default=list, help_text="Short phrases, most important first."
    )
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = SkillQuerySet.as_manager()

    class Meta:
        ordering = ["family", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["slug"], condition=Q(club=None), name="one_shipped_skill_per_slug"
            ),
            models.UniqueConstraint(fields=["club", "slug"], name="one_skill_per_slug"),
        ]

    def __str__(self) -> str:
        return self.name


class Drill(Row):
    class Counts(models.TextChoices):
        MAKES = "makes", _("makes")
        REPS = "reps", _("reps")
        SECONDS = "seconds", _("seconds")

    class Sides(models.TextChoices):
        BOTH = "both", _("both sides")
        WEAK = "weak", _("weak side")
        NONE = "none", _("no side")

    club = models.ForeignKey(
        Club, null=True, blank=True, on_delete=models.CASCADE, related_name="drills"
    )
    slug = models.SlugField(max_length=60)
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="drills")
    name = models.CharField(_("name"), max_length=80)
    counts = models.CharField(_("counts"), max_length=10, choices=Counts.choices)
    sides = models.CharField(_("sides"), max_length=10, choices=Sides.choices, default=Sides.NONE)
    default_sets = models.PositiveSmallIntegerField(_("sets"), default=3)
    default_per_set = models.PositiveSmallIntegerField(_("per set"), default=10)
    minutes = models.PositiveSmallIntegerField(_("minutes"), default=8)
    players_needed = models.PositiveSmallIntegerField(_("players needed"), default=1)
    needs = models.CharField(_("needs"), max_length=80, blank=True)
    how = models.TextField(_("how"), blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = CatalogueQuerySet.as_manager()

    class Meta:
        ordering = ["players_needed", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["slug"], condition=Q(club=None), name="one_shipped_drill_per_slug"
            ),
            models.UniqueConstraint(fields=["club", "slug"], name="one_drill_per_slug"),
        ]

    def __str__(self) -> str:
        return self.name
