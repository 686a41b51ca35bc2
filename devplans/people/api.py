from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from devplans.people import lookups
from devplans.people.access import Role
from devplans.people.models import Player, Squad


class NamedSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField(source="__str__")


class MeSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField()
    roles = serializers.ListField(child=serializers.ChoiceField(choices=[str(r) for r in Role]))
    squads = NamedSerializer(many=True)
    players = NamedSerializer(many=True)


class MeView(APIView):
    """Who is signed in, with the roles held today and the squads and players that may be read."""

    @extend_schema(operation_id="me", responses=MeSerializer)
    def get(self, request: Request) -> Response:
        user = request.user
        held = lookups.roles_of(user)
        me = {
            "id": user.pk,
            "name": user.full_name,
            "roles": [str(role) for role in Role if role in held],
            "squads": Squad.objects.visible_to(user).order_by("name", "created_at"),
            "players": Player.objects.visible_to(user),
        }
        return Response(MeSerializer(me).data)


urlpatterns = [path("me/", MeView.as_view(), name="api-me")]
