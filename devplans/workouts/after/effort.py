"""How hard a workout was that a coach counted: asked of the player, and answered with one tap."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Case, Exists, F, OuterRef, Q, Value, When
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import Conflict, DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Guardianship, Phone, Player
from devplans.workouts import services
from devplans.workouts.content import LONGEST_TEXT, MOST_MINUTES
from devplans.workouts.models import Workout

HARDEST = 10
# For so long an answer stays much the same: Foster et al. 2021, Int. J. Sports Physiol. Perform.
# 16:612-621.
ASKED_FOR = timedelta(days=14)
# Without minutes the coach may still be counting on his phone.
LEFT_OPEN = timedelta(hours=12)


def logged_by_coach() -> Case:
    """An annotation: neither the player nor a guardian of his logged the workout."""
    guardians = Guardianship.objects.filter(user=OuterRef("logged_by"), player=OuterRef("player"))
    family = Q(logged_by=None) | Q(logged_by=F("player__user")) | Exists(guardians)
    return Case(When(family, then=Value(False)), default=Value(True))


def asked_of(players: Iterable[Player], now: datetime | None = None) -> dict[UUID, list[Workout]]:
    """The workouts whose effort each player is asked for, the latest first, in one query."""
    now = now or timezone.now()
    rows = Workout.objects.between(now - ASKED_FOR, now).filter(
        Q(minutes__isnull=False) | Q(updated_at__lt=now - LEFT_OPEN),
        player__in=list(players),
        effort=None,
    )
    rows = rows.annotate(by_coach=logged_by_coach()).filter(by_coach=True)
    found: dict[UUID, list[Workout]] = defaultdict(list)
    for row in rows.select_related("logged_by", "player__club").order_by("-started_at"):
        found[row.player_id].append(row)
    return found


def without_phone(players: Iterable[Player]) -> set[UUID]:
    """Those who can answer nothing themselves: no account, or one without address and phone."""
    found = {player.pk: player for player in players}
    signed_in = set(
        Phone.objects.standing().filter(player__in=found).values_list("player", flat=True)
    )
    own = Player.objects.filter(pk__in=found, user__email__isnull=False)
    return set(found) - signed_in - set(own.values_list("pk", flat=True))


def answer_effort(
    *, actor: Any, workout: Workout, effort: int, pain: str = "", minutes: int | None = None
) -> Workout:
    """Keep how hard it was (0 to 10), and what hurts, as the player or his guardian says.

    What the coach counted stays; minutes are taken only where none are known, and without them the
    load stays unknown. Raises PermissionDenied, DomainError for numbers or words out of range, and
    Conflict where it was answered or changed meanwhile.
    """
    access.require(actor, Action.TELL_HOURS, workout.player)
    if not 0 <= effort <= HARDEST:
        raise DomainError("effort.range", _("Choose a number from 0 to 10."), field="effort")
    if minutes is not None and not 0 <= minutes <= MOST_MINUTES:
        message = _("Give whole minutes, at most %(most)s.") % {"most": MOST_MINUTES}
        raise DomainError("effort.minutes", message, field="minutes")
    pain = pain.strip()
    if len(pain) > LONGEST_TEXT:
        raise DomainError("effort.pain", _("Write less: 2,000 characters at most."), field="pain")
    held = Workout.objects.with_content().get(pk=workout.pk)
    if held.effort is not None and (held.effort != effort or pain):
        raise Conflict(
            "effort.answered", _("This was answered already. Correct it in the workout.")
        )
    content = replace(
        held.content(),
        effort=effort,
        pain=pain or held.pain,
        minutes=minutes if held.minutes is None else held.minutes,
    )
    if content == held.content():
        return held
    kept, _outcome = services.put_workout(
        actor=actor,
        player=workout.player,
        workout_id=held.pk,
        revision=held.revision + 1,
        content=content,
    )
    return kept
