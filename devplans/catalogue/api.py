from typing import Any

from django.urls import path
from rest_framework import generics, serializers

from devplans.catalogue.models import CatalogueQuerySet, Drill, Skill
from devplans.core.edges import NarrowedModelSerializer
from devplans.core.rest import Pages


class BySlug(Pages):
    ordering = "slug"


class SkillSerializer(NarrowedModelSerializer):
    cues = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta:
        model = Skill
        fields = ["id", "slug", "family", "name", "opportunity", "cues", "club", "retired_at"]
        read_only_fields = fields


class DrillSerializer(NarrowedModelSerializer):
    skill: Any = serializers.SlugRelatedField(slug_field="slug", read_only=True)

    class Meta:
        model = Drill
        fields = [
            "id", "slug", "skill", "name", "counts", "sides", "default_sets", "default_per_set",
            "minutes", "players_needed", "needs", "how", "club", "retired_at",
        ]  # fmt: skip
        read_only_fields = fields


class SkillList(generics.ListAPIView[Skill]):
    """The skills that this user may read, retired ones too. `club` is null for a shipped one."""

    serializer_class = SkillSerializer
    pagination_class = BySlug
    queryset = Skill.objects.none()

    def get_queryset(self) -> CatalogueQuerySet:
        return Skill.objects.visible_to(self.request.user)


class DrillList(generics.ListAPIView[Drill]):
    """The drills that this user may read, retired ones too; `skill` is a slug."""

    serializer_class = DrillSerializer
    pagination_class = BySlug
    queryset = Drill.objects.none()

    def get_queryset(self) -> CatalogueQuerySet:
        return Drill.objects.visible_to(self.request.user).select_related("skill")


urlpatterns = [
    path("skills/", SkillList.as_view(), name="api-skills"),
    path("drills/", DrillList.as_view(), name="api-drills"),
]
