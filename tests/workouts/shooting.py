"""Shots by the hundred, put straight into the tables."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone

from devplans.workouts.models import Shot, WorkoutSet
from tests import factories as make


def log_shots(
    player: Any, shots: Any, *, drill: Any = None, side: str = "none", **fields: Any
) -> Any:
    """One workout with (x_mm, y_mm, made) for each of `shots`, in one set of `drill` if given."""
    workout = make.make_workout(player, **fields)
    one = None
    if drill is not None:
        one = WorkoutSet.objects.create(workout=workout, position=0, drill=drill, side=side)
    Shot.objects.bulk_create(
        Shot(id=uuid4(), workout=workout, set=one, position=n, x_mm=x, y_mm=y, made=made)
        for n, (x, y, made) in enumerate(shots)
    )
    make.sum_weeks(workout)
    return workout


def weeks_ago(count: int) -> Any:
    return timezone.now() - timedelta(weeks=count)
