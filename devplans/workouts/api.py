"""The phone's side of workouts, and the sums of a player's week."""

from typing import Any
from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.generics import GenericAPIView, ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from devplans.core.rest import Pages
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.stats.proportions import share, wilson_interval
from devplans.workouts import services, sums
from devplans.workouts.fields import Key, WorkoutSerializer
from devplans.workouts.models import Workout


class NewestFirst(Pages):
    ordering = ("-started_at", "-pk")


class ListQuery(serializers.Serializer):
    player = Key(required=False)


@extend_schema(parameters=[ListQuery])
class WorkoutList(ListAPIView[Workout]):
    """The workouts that this user may read, newest first; `?player=` one player's."""

    serializer_class = WorkoutSerializer
    pagination_class = NewestFirst
    queryset = Workout.objects.none()

    def get_queryset(self) -> Any:
        asked = ListQuery(data=self.request.query_params.dict())
        asked.is_valid(raise_exception=True)
        found = Workout.objects.visible_to(self.request.user).with_content()
        player = asked.validated_data.get("player")
        return found.of_player(player) if player else found


class WorkoutDetail(GenericAPIView[Workout]):
    """One workout under the key that the phone made."""

    serializer_class = WorkoutSerializer
    queryset = Workout.objects.none()

    def get(self, request: Request, workout_id: UUID) -> Response:
        """The workout as it is kept. `pain` is null for who is neither family nor coach."""
        workout = get_object_or_404(
            Workout.objects.visible_to(request.user).with_content(), pk=workout_id
        )
        return Response(self.get_serializer(workout).data)

    @extend_schema(
        responses={
            201: WorkoutSerializer,
            200: WorkoutSerializer,
            400: dict[str, Any],
            404: dict[str, str],
            409: dict[str, str],
        }
    )
    def put(self, request: Request, workout_id: UUID) -> Response:
        """Keep the workout. 201 new; 200 the same again, or a higher revision in its place;
        409 the same revision with other content, a lower revision, or deleted; 404 a player or a
        key of somebody else."""
        self._own(request, workout_id)
        sent = WorkoutSerializer(data=request.data)
        is_valid = sent.is_valid()
        player = self._player(request, sent)
        if not is_valid:
            raise serializers.ValidationError(sent.problems())
        try:
            workout, outcome = services.put_workout(
                actor=request.user,
                player=player,
                workout_id=workout_id,
                revision=sent.validated_data["revision"],
                content=sent.content(),
            )
        except Workout.DoesNotExist as error:
            raise Http404 from error
        except services.Unfit as error:
            raise serializers.ValidationError(error.problems) from error
        answer = status.HTTP_201_CREATED if outcome == "created" else status.HTTP_200_OK
        return Response(WorkoutSerializer(workout).data, status=answer)

    @extend_schema(responses={204: None, 404: dict[str, str]})
    def delete(self, request: Request, workout_id: UUID) -> Response:
        """Delete it; deleting it again is no error. A later PUT under this key is refused."""
        workout = self._own(request, workout_id)
        if workout is None:
            raise Http404
        services.delete_workout(actor=request.user, workout=workout)
        return Response(status=status.HTTP_204_NO_CONTENT)

    def _own(self, request: Request, workout_id: UUID) -> Workout | None:
        """What the key holds; somebody else's key is told as one that does not exist."""
        try:
            return Workout.objects.find_own(request.user, workout_id)
        except Workout.DoesNotExist as error:
            raise Http404 from error

    def _player(self, request: Request, sent: WorkoutSerializer) -> Player | None:
        """The player of the body, wherever it can be read: who may not log for him learns nothing
        else."""
        if "player" in sent.errors or not isinstance(request.data, dict):
            return None
        loggable = Player.objects.allowing(request.user, Action.LOG_WORKOUT).select_related("club")
        return get_object_or_404(loggable, pk=request.data["player"])


class WeekSerializer(serializers.Serializer):
    workouts = serializers.IntegerField()
    minutes_own = serializers.IntegerField()
    minutes_organised = serializers.IntegerField()
    load = serializers.IntegerField(allow_null=True)
    reps = serializers.IntegerField()
    made = serializers.IntegerField()
    tried = serializers.IntegerField()
    share = serializers.FloatField(allow_null=True)
    low = serializers.FloatField(allow_null=True)
    high = serializers.FloatField(allow_null=True)


class PlayerWeek(APIView):
    """The sums of one player's ISO week, in the club's time zone. Shots and counted sets never
    twice; `share`, `low` and `high` (95 %) are null when nothing was tried, `load` when no workout
    has both minutes and effort."""

    @extend_schema(
        responses=WeekSerializer,
        parameters=[OpenApiParameter("week", str, OpenApiParameter.PATH, description="2026-W47")],
    )
    def get(self, request: Request, player_id: UUID, week: str) -> Response:
        player = get_object_or_404(Player.objects.visible_to(request.user), pk=player_id)
        try:
            found = sums.week_sums([player], *weeks.parse_label(week))[player.pk]
        except ValueError as error:
            raise Http404 from error
        made, tried = found.made or 0, found.tried or 0
        low, high = wilson_interval(made, tried) if tried else (None, None)
        return Response(
            {
                "workouts": found.workouts,
                "minutes_own": found.minutes_own or 0,
                "minutes_organised": found.minutes_organised or 0,
                "load": found.load,
                "reps": found.reps or 0,
                "made": made,
                "tried": tried,
                "share": share(made, tried),
                "low": low,
                "high": high,
            }
        )


urlpatterns = [
    path("workouts/", WorkoutList.as_view(), name="api-workouts"),
    path("workouts/<uuid:workout_id>/", WorkoutDetail.as_view(), name="api-workout"),
    path("players/<uuid:player_id>/weeks/<str:week>/", PlayerWeek.as_view(), name="api-week"),
]
