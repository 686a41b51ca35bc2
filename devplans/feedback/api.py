from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import URLPattern, URLResolver, include, path, reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    extend_schema,
    extend_schema_field,
    extend_schema_view,
)
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.fields import SkipField
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import SimpleRouter
from rest_framework.views import APIView

from devplans.catalogue.models import Skill
from devplans.core.edges import NarrowedKeyField
from devplans.core.errors import DomainError
from devplans.core.rest import Pages
from devplans.feedback import drawing as drawings
from devplans.feedback import exports, reading, services
from devplans.feedback.drawings.shapes import COLOURS, KINDS, STROKES, Shape
from devplans.feedback.models import Comment, Delivery
from devplans.film.api import AlwaysJson
from devplans.film.models import Film
from devplans.people.models import Player


class PointField(serializers.ListField):
    child = serializers.FloatField(min_value=0, max_value=1)


class ShapeSerializer(serializers.Serializer):
    """One shape of a drawing; x and y are shares of the upright frame, 0 to 1."""

    kind = serializers.ChoiceField(choices=KINDS)
    points = serializers.ListField(child=PointField(min_length=2, max_length=2))
    colour = serializers.ChoiceField(choices=COLOURS, required=False)
    stroke = serializers.ChoiceField(choices=STROKES, required=False)
    text = serializers.CharField(required=False, help_text="Of a text only.")


@extend_schema_field(ShapeSerializer(many=True))
class DrawingField(serializers.Field):
    """The shapes on the still of a comment; absent where nothing is drawn."""

    def get_attribute(self, instance: Any) -> list[Shape]:
        is_delivery = isinstance(instance, Delivery)
        found = (
            drawings.shown_shapes(instance.comment) if is_delivery else drawings.shapes_of(instance)
        )
        if not found:
            raise SkipField
        return found

    def to_internal_value(self, value: Any) -> Any:
        try:
            return drawings.checked(value)
        except DomainError as error:
            raise serializers.ValidationError(str(error)) from error

    def to_representation(self, value: Any) -> Any:
        return value


class CommentSerializer(serializers.ModelSerializer):
    """A comment as its coach reads and writes it, with all its players."""

    film = NarrowedKeyField(queryset=Film.objects.select_related("squad__season__club", "event"))
    players = NarrowedKeyField(queryset=Player.objects, many=True, allow_empty=False)
    skill = serializers.SlugField()
    delivery = serializers.SerializerMethodField()
    clip = serializers.SerializerMethodField()
    drawing = DrawingField(required=False)

    class Meta:
        model = Comment
        fields = (
            "id", "delivery", "film", "start_ms", "end_ms", "players", "skill", "verdict",
            "happened", "do_instead", "sent_at", "clip", "drawing",
        )  # fmt: skip
        read_only_fields = ("id", "sent_at")

    def validate_film(self, film: Film) -> Film:
        if self.instance is not None and film != self.instance.film:
            raise serializers.ValidationError(_("A comment stays with its film."))
        return film

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if "skill" in attrs:
            film = attrs.get("film") or self.instance.film
            attrs["skill"] = self._skill(film, attrs["skill"])
        return attrs

    def _skill(self, film: Film, slug: str) -> Skill:
        found = reading.skill_by_slug(film.squad.season.club, slug)
        if found is None and self.instance is not None and self.instance.skill.slug == slug:
            found = self.instance.skill
        if found is None:
            raise serializers.ValidationError({"skill": [_("There is no such skill.")]})
        return found

    def create(self, validated_data: dict[str, Any]) -> Comment:
        return services.add_comment(actor=self.context["request"].user, **validated_data)

    def update(self, instance: Comment, validated_data: dict[str, Any]) -> Comment:
        validated_data.pop("film", None)
        return services.edit_comment(
            actor=self.context["request"].user, comment=instance, **validated_data
        )

    def to_representation(self, instance: Comment) -> dict[str, Any]:
        return {**super().to_representation(instance), "skill": instance.skill.slug}

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_delivery(self, comment: Comment) -> None:
        return None

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_clip(self, comment: Comment) -> str | None:
        shown = reading.delivery_with_clip(comment)
        return reverse("feedback:clip", args=[shown]) if shown else None


class DeliverySerializer(serializers.Serializer):
    """A player's own copy of a sent comment; nobody else's name is in it."""

    id = serializers.UUIDField(source="comment_id")
    delivery = serializers.UUIDField(source="pk")
    film = serializers.UUIDField(source="comment.film_id")
    start_ms = serializers.IntegerField(source="comment.start_ms")
    end_ms = serializers.IntegerField(source="comment.end_ms", allow_null=True)
    players = serializers.SerializerMethodField()
    skill = serializers.SlugField(source="comment.skill.slug")
    verdict = serializers.ChoiceField(choices=Comment.Verdict.choices, source="comment.verdict")
    happened = serializers.CharField()
    do_instead = serializers.CharField()
    sent_at = serializers.DateTimeField()
    clip = serializers.SerializerMethodField()
    drawing = DrawingField(read_only=True)

    @extend_schema_field(serializers.ListField(child=serializers.UUIDField()))
    def get_players(self, delivery: Delivery) -> list[str]:
        return [str(delivery.player_id)]

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_clip(self, delivery: Delivery) -> str | None:
        return reverse("feedback:clip", args=[delivery.pk]) if delivery.has_clip else None


class SendSerializer(serializers.Serializer):
    comments = serializers.ListField(
        child=serializers.UUIDField(), allow_empty=False, max_length=500
    )


class NewestSent(Pages):
    ordering = ("-sent_at", "-pk")


class CommentViewSet(
    mixins.CreateModelMixin,
    mixins.UpdateModelMixin,
    mixins.RetrieveModelMixin,
    mixins.DestroyModelMixin,
    viewsets.GenericViewSet,
):
    """Comments on films: a coach's with all their players, a family's one per delivery."""

    serializer_class = CommentSerializer
    queryset = Comment.objects.none()
    http_method_names = ("get", "post", "patch", "delete", "head", "options")

    def get_queryset(self) -> QuerySet[Comment]:
        return reading.comments_for(self.request.user)

    def perform_destroy(self, instance: Comment) -> None:
        services.delete_draft(actor=self.request.user, comment=instance)

    @extend_schema(
        parameters=[
            OpenApiParameter("player", UUID, description="Whose comments."),
            OpenApiParameter("film", UUID, description="Comments of which film."),
        ],
        responses=CommentSerializer(many=True),
    )
    def list(self, request: Request) -> Response:
        """What this user may read, newest first; `player` or `film` has to be named."""
        asked = _keys(request, "player", "film")
        if not asked:
            raise serializers.ValidationError({"detail": _("Name a player or a film.")})
        found = reading.readable(request.user, **asked)
        family = found.model is Delivery
        pages = NewestSent() if family else Pages()
        page = pages.paginate_queryset(found, request, view=self)
        kind = DeliverySerializer if family else CommentSerializer
        shown = kind(page, many=True, context=self.get_serializer_context())
        return pages.get_paginated_response(shown.data)

    @extend_schema(request=SendSerializer, responses=CommentSerializer(many=True))
    @action(detail=False, methods=["post"])
    def send(self, request: Request) -> Response:
        """Send drafts, all or none."""
        form = SendSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        keys = list(dict.fromkeys(form.validated_data["comments"]))
        comments = [get_object_or_404(self.get_queryset(), pk=key) for key in keys]
        try:
            services.send_comments(actor=request.user, comments=comments)
        except services.NotSendable as error:
            problems = {str(key): found for key, found in error.problems.items()}
            return Response({"comments": problems}, status=status.HTTP_400_BAD_REQUEST)
        sent = [get_object_or_404(self.get_queryset(), pk=key) for key in keys]
        return Response(self.get_serializer(sent, many=True).data)


def _keys(request: Request, *names: str) -> dict[str, UUID]:
    found = {}
    for name in names:
        if request.query_params.get(name):
            field = serializers.UUIDField()
            try:
                found[name] = field.run_validation(request.query_params[name])
            except serializers.ValidationError as error:
                raise serializers.ValidationError({name: error.detail}) from None
    return found


class FilmFile(APIView):
    """A file of what a film holds for this user, in an open format."""

    content_negotiation_class = AlwaysJson
    what = "comments"
    kind = "vtt"

    def get(self, request: Request, film_id: UUID) -> HttpResponse:
        """404 where the film is closed to the user."""
        if self.what == "comments":
            address = settings.PUBLIC_URL + request.path
            page = exports.comments_file(request.user, film_id, self.kind, address)
        else:
            page = exports.possessions_file(request.user, film_id, self.kind)
        answer = HttpResponse(page.text, content_type=page.content_type)
        answer["Content-Disposition"] = content_disposition_header(True, page.filename)
        answer["Cache-Control"] = "private, no-store"
        return answer


def film_file(what: str, kind: str) -> URLPattern:
    """The route of one file. The schema tells its media type without parameters."""
    media_type = exports.KINDS[kind][0].partition(";")[0]
    told = extend_schema(
        operation_id=f"films_{what}_{kind}", responses={(200, media_type): OpenApiTypes.STR}
    )
    view = type(f"Film{what.title()}{kind.title()}", (FilmFile,), {})
    view = extend_schema_view(get=told)(view)
    return path(
        f"films/<uuid:film_id>/{what}.{kind}",
        view.as_view(what=what, kind=kind),
        name=f"film-{what}-{kind}",
    )


router = SimpleRouter()
router.register("comments", CommentViewSet, basename="comment")
urlpatterns: list[URLPattern | URLResolver] = [
    path("", include(router.urls)),
    *(film_file("comments", kind) for kind in exports.KINDS),
    *(film_file("possessions", kind) for kind in ("vtt", "csv")),
]
