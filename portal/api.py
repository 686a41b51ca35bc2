"""The API's root: the schema and every app's routes."""

from typing import Any

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

urlpatterns: list[Any] = [
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("", include("devplans.people.api")),
    path("", include("devplans.catalogue.api")),
    path("", include("devplans.schedule.api")),
    path("", include("devplans.film.api")),
    path("", include("devplans.film.uploads.urls")),
    path("", include("devplans.feedback.api")),
    path("", include("devplans.workouts.api")),
]
