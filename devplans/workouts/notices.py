"""The mails that a workout can cause. None holds a word of what hurts."""

from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _

from devplans.core.mail import queue_message
from devplans.people import lookups
from devplans.people.models import Player, User
from devplans.workouts.after.answering import answerers_of
from devplans.workouts.models import PainAnswer

KIND = "notice"


def tell_of_pain(report: PainAnswer, actor: Any) -> None:
    """Tell guardians, coaches and whoever answers that there is an answer to read: once per report
    and person. Whoever wrote it knows.

    It cannot be switched off: it is about a child's safety.
    """
    player = report.player
    readers = [*lookups.guardians_of(player), *answerers_of([player])[player.pk], *_coaches(player)]
    _tell(report, actor, readers, key=f"workouts.answer:{report.pk}", template="answer")


def tell_of_answer(report: PainAnswer, actor: Any) -> None:
    """Tell coaches and the other guardians that the family has answered, each time it does."""
    player = report.player
    readers = [*lookups.guardians_of(player), *_coaches(player)]
    at = report.answered_at.isoformat() if report.answered_at else ""
    _tell(report, actor, readers, key=f"workouts.answered:{report.pk}:{at}", template="answered")


def _coaches(player: Player) -> list[User]:
    squads = lookups.squads_of(player)
    return [coach for squad in squads for coach in lookups.coaches_of(squad)]


def _tell(
    report: PainAnswer, actor: Any, readers: Iterable[User], *, key: str, template: str
) -> None:
    link = settings.PUBLIC_URL + reverse("workouts:pain", args=[report.pk])
    for reader in dict.fromkeys(readers):
        if reader.pk == actor.pk or not reader.email:
            continue
        words = {"reader": reader, "player": report.player, "link": link}
        queue_message(
            key=f"{key}:{reader.pk}",
            kind=KIND,
            address=reader.email,
            recipient=reader,
            subject=_("There is an answer to read"),
            text=render_to_string(f"workouts/email/{template}.txt", words),
            club_id=report.player.club_id,
            player_id=report.player_id,
        )
