from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from devplans.workouts.models import Workout


def workout(request: HttpRequest, workout_id: UUID) -> HttpResponse:
    found = get_object_or_404(
        Workout.objects.visible_to(request.user).with_content(), pk=workout_id
    )
    return render(request, "workouts/workout.html", {"workout": found})
