"""Writing who was there: the coach ticks, and may take it back."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.schedule.models import Event
from devplans.workouts.attendance.models import Attendance
from devplans.workouts.attendance.reading import has_begun, places_on

NOT_MARKED = ""


@transaction.atomic
def mark_attendance(*, actor: Any, event: Event, marks: Mapping[UUID, str]) -> dict[UUID, str]:
    """Keep a state of `Attendance.State` for each player of `marks`; "" takes the mark away.

    Returns what stood there before, of those that changed: the same call with it is the undo.
    Raises PermissionDenied, and DomainError for a cancelled date, for a player who was not in the
    squad on that day, for another state, and for present or absent before the date begins.
    """
    access.require(actor, Action.KEEP_CALENDAR, event.squad)
    Event.objects.select_for_update().get(pk=event.pk)
    if event.cancelled_at is not None:
        raise DomainError("attendance.cancelled", _("This date is cancelled."))
    _check(event, marks)
    held = {row.player_id: row for row in Attendance.objects.of_event(event)}
    before: dict[UUID, str] = {}
    for player_id, state in marks.items():
        row = held.get(player_id)
        was = row.state if row else NOT_MARKED
        if was == state:
            continue
        before[player_id] = was
        _write(actor, event, player_id, row, state)
    return before


@transaction.atomic
def mark_rest_present(*, actor: Any, event: Event) -> dict[UUID, str]:
    """Everybody without a mark was there; who is excused or absent stays so. Returns and raises as
    `mark_attendance` does."""
    access.require(actor, Action.KEEP_CALENDAR, event.squad)
    marked = set(Attendance.objects.of_event(event).values_list("player", flat=True))
    rest = [place.player_id for place in places_on(event) if place.player_id not in marked]
    return mark_attendance(
        actor=actor, event=event, marks=dict.fromkeys(rest, Attendance.State.PRESENT)
    )


def _check(event: Event, marks: Mapping[UUID, str]) -> None:
    if not set(marks.values()) <= {NOT_MARKED, *Attendance.State.values}:
        raise DomainError("attendance.state", _("Choose present, excused or absent."))
    if not set(marks) <= {place.player_id for place in places_on(event)}:
        message = _("This player was not in the squad on that day.")
        raise DomainError("attendance.player", message)
    ahead = set(marks.values()) - {NOT_MARKED, Attendance.State.EXCUSED}
    if ahead and not has_begun(event):
        message = _("It has not begun. Until then a player can only be excused.")
        raise DomainError("attendance.ahead", message)


def _write(actor: Any, event: Event, player_id: UUID, row: Attendance | None, state: str) -> None:
    if row is None:
        row = Attendance.objects.create(player_id=player_id, event=event, state=state, by=actor)
    elif state == NOT_MARKED:
        # The audit line names the row that is gone.
        key = row.pk
        row.delete()
        row.pk = key
    else:
        row.state, row.by = state, actor
        row.save(update_fields=["state", "by", "updated_at"])
    audit.record(
        actor,
        "workouts.attendance_marked",
        row,
        club_id=event.squad.season.club_id,
        player_id=player_id,
        event=str(event.pk),
        state=state,
    )
