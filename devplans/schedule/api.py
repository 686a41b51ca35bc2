from uuid import UUID

from django.urls import path
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, serializers

from devplans.core.edges import NarrowedModelSerializer
from devplans.core.rest import Pages
from devplans.schedule.models import Event, EventQuerySet


class ByTime(Pages):
    ordering = "starts_at"


class EventSerializer(NarrowedModelSerializer):
    title = serializers.CharField(read_only=True)

    class Meta:
        model = Event
        fields = [
            "id", "squad", "kind", "title", "starts_at", "ends_at", "place", "opponent", "series",
            "cancelled_at",
        ]  # fmt: skip
        read_only_fields = fields


class EventList(generics.ListAPIView[Event]):
    """Games and practices of the squads that this user may read, by start; cancelled ones too."""

    serializer_class = EventSerializer
    pagination_class = ByTime
    queryset = Event.objects.none()

    @extend_schema(parameters=[OpenApiParameter("squad", UUID, description="Only this squad's.")])
    def get(self, request, *args, **kwargs):  # type: ignore[no-untyped-def]
        return super().get(request, *args, **kwargs)

    def get_queryset(self) -> EventQuerySet:
        rows = Event.objects.visible_to(self.request.user)
        asked = self.request.query_params.get("squad")
        return rows if asked is None else rows.of_squads([self._squad_id(asked)])

    def _squad_id(self, text: str) -> UUID:
        try:
            return UUID(text)
        except ValueError as error:
            raise serializers.ValidationError({"squad": ["This is not an id."]}) from error


urlpatterns = [path("events/", EventList.as_view(), name="api-events")]
