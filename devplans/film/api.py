from typing import Any

from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
)
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import SimpleRouter

from devplans.core.edges import NarrowedKeyField
from devplans.film import intake, pictures, services
from devplans.film.faults import MediaError
from devplans.film.models import Film
from devplans.film.serving import serve_bytes
from devplans.people.models import Squad
from devplans.schedule.models import Event


class FilmSerializer(serializers.ModelSerializer):
    class Meta:
        model = Film
        fields = [
            *("id", "title", "squad", "state", "progress", "problem"),
            *("duration_ms", "width", "height"),
        ]
        read_only_fields = fields


@extend_schema_field(OpenApiTypes.BINARY)
class BinaryField(serializers.FileField):
    pass


class FilmUploadSerializer(serializers.Serializer):
    file = BinaryField(allow_empty_file=True)
    title = serializers.CharField(max_length=120)
    squad = NarrowedKeyField(queryset=Squad.objects)
    event = NarrowedKeyField(queryset=Event.objects, required=False, allow_null=True, default=None)


class AlwaysJson(DefaultContentNegotiation):
    """Errors are JSON also for those who asked for a picture."""

    def select_renderer(self, request: Any, renderers: Any, format_suffix: Any = None) -> Any:
        return renderers[0], renderers[0].media_type


class FilmViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, viewsets.GenericViewSet):
    """Films of the user's squads. An uploaded film is prepared in the background."""

    serializer_class = FilmSerializer
    queryset = Film.objects.none()
    content_negotiation_class = AlwaysJson
    parser_classes = [MultiPartParser]

    def get_queryset(self) -> Any:
        return Film.objects.visible_to(self.request.user).arrived()

    @extend_schema(
        request={"multipart/form-data": FilmUploadSerializer}, responses={201: FilmSerializer}
    )
    def create(self, request: Request) -> Response:
        """Upload a film: mp4, mov or webm. 400 with the reason for what is no film."""
        upload = FilmUploadSerializer(data=request.data, context={"request": request})
        if refused := intake.refusal(request._request):
            raise refused
        upload.is_valid(raise_exception=True)
        film = services.add_film(actor=request.user, **upload.validated_data)
        return Response(self.get_serializer(film).data, status=status.HTTP_201_CREATED)

    @extend_schema(
        parameters=[OpenApiParameter("ms", OpenApiTypes.INT, required=True)],
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY, 409: OpenApiResponse()},
    )
    @action(detail=True)
    def still(self, request: Request, pk: str | None = None) -> Any:
        """The frame of the original that is on screen at `ms`; past the end the last one."""
        film = self.get_object()
        if not pictures.has_stills(film):
            raise Http404
        ms = pictures.asked_ms(request.query_params.get("ms"))
        try:
            body = pictures.still_of(film, ms)
        except MediaError as error:
            raise Http404 from error
        etag = pictures.etag_of(film, ms)
        return serve_bytes(request._request, body, content_type="image/jpeg", etag=etag)


router = SimpleRouter()
router.register("films", FilmViewSet, basename="film")
urlpatterns = router.urls
