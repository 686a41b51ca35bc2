"""The one mail that a workout can cause."""

from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from devplans.core.mail import queue_message
from devplans.people import lookups
from devplans.workouts.models import Workout

KIND = "notice"


def tell_of_pain(workout: Workout, actor: Any) -> None:
    """Tell guardians and coaches that there is an answer to read: once per workout and person,
    without a word of the answer. Whoever logged it knows.

    It cannot be switched off: it is about a child's safety.
    """
    player = workout.player
    coaches = [coach for squad in lookups.squads_of(player) for coach in lookups.coaches_of(squad)]
    readers = dict.fromkeys([*lookups.guardians_of(player), *coaches])
    link = settings.PUBLIC_URL + reverse("workouts:workout", args=[workout.pk])
    for reader in readers:
        if reader.pk == actor.pk:
            continue
        words = {"reader": reader, "player": player, "link": link}
        queue_message(
            key=f"workouts.answer:{workout.pk}:{reader.pk}",
            kind=KIND,
            address=reader.email,
            recipient=reader,
            subject=_("There is an answer to read"),
            text=render_to_string("workouts/email/answer.txt", words),
            club_id=player.club_id,
            player_id=player.pk,
        )
