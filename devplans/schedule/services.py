"""The squad's calendar: games and practices, one by one or every week."""

from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.ids import uuid7
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule.models import Event

MOST_WEEKS = 53
LONGEST = timedelta(hours=24)


@dataclass(frozen=True)
class EventPlan:
    """What stands in the calendar. kind: of `Event.Kind`; times are aware."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    place: str = ""
    opponent: str = ""


@transaction.atomic
def add_event(*, actor: Any, squad: Squad, plan: EventPlan) -> Event:
    """Put one game or practice into the squad's calendar.

    Raises PermissionDenied, and DomainError "event.ends" unless it ends after it starts.
    """
    access.require(actor, Action.KEEP_CALENDAR, squad)
    event = _create(squad, plan, None)
    audit.record(actor, "schedule.event_added", event, club_id=squad.season.club_id)
    return event


@transaction.atomic
def add_weekly(*, actor: Any, squad: Squad, plan: EventPlan, until: date) -> list[Event]:
    """The same every week through `until`, a local date, at the same time by the club's clock.

    Raises as `add_event` does, and DomainError "event.until" for an end before the second date or
    more than a year away.
    """
    access.require(actor, Action.KEEP_CALENDAR, squad)
    zone = ZoneInfo(squad.season.club.zone)
    weeks = (until - plan.starts_at.astimezone(zone).date()).days // 7
    if weeks < 1:
        message = _("The last date must be at least a week after the first.")
        raise DomainError("event.until", message, field="until")
    if weeks >= MOST_WEEKS:
        raise DomainError("event.until", _("Repeat for a year at most."), field="until")
    series = uuid7()
    events = [_create(squad, _weeks_later(plan, week, zone), series) for week in range(weeks + 1)]
    audit.record(
        actor, "schedule.series_added", events[0], club_id=squad.season.club_id, dates=len(events)
    )
    return events


@transaction.atomic
def change_event(*, actor: Any, event: Event, plan: EventPlan) -> Event:
    """Change this date; the others of its series stay. Raises as `add_event` does."""
    access.require(actor, Action.KEEP_CALENDAR, event.squad)
    plan = _checked(plan)
    fields = asdict(plan)
    is_other = any(getattr(event, name) != value for name, value in fields.items())
    for name, value in fields.items():
        setattr(event, name, value)
    event.sequence += is_other
    event.save(update_fields=[*fields, "sequence", "updated_at"])
    audit.record(actor, "schedule.event_changed", event, club_id=event.squad.season.club_id)
    return event


@transaction.atomic
def cancel_event(*, actor: Any, event: Event, and_later: bool = False) -> int:
    """Cancel this date, or with `and_later` it and the later ones of its series; how many.

    A cancelled date stays in the calendar, marked, so that nobody comes to it.
    """
    access.require(actor, Action.KEEP_CALENDAR, event.squad)
    standing = Event.objects.series_from(event)
    rows = list(standing if and_later else standing.filter(pk=event.pk))
    now = timezone.now()
    for row in rows:
        row.cancelled_at = now
        row.sequence += 1
        row.save(update_fields=["cancelled_at", "sequence", "updated_at"])
        audit.record(actor, "schedule.event_cancelled", row, club_id=event.squad.season.club_id)
    event.refresh_from_db(fields=["cancelled_at", "sequence"])
    return len(rows)


@transaction.atomic
def restore_event(*, actor: Any, event: Event) -> None:
    """Put a cancelled date back."""
    access.require(actor, Action.KEEP_CALENDAR, event.squad)
    if event.cancelled_at is not None:
        event.cancelled_at = None
        event.sequence += 1
        event.save(update_fields=["cancelled_at", "sequence", "updated_at"])
        audit.record(actor, "schedule.event_restored", event, club_id=event.squad.season.club_id)


def _weeks_later(plan: EventPlan, weeks: int, zone: ZoneInfo) -> EventPlan:
    """The same wall time `weeks` later; an hour that the clock skips falls after the gap."""
    local = plan.starts_at.astimezone(zone) + timedelta(weeks=weeks)
    starts_at = local.astimezone(UTC)
    # Between two times of one zone Python counts wall time, so the length is taken in UTC.
    length = plan.ends_at.astimezone(UTC) - plan.starts_at.astimezone(UTC)
    return replace(plan, starts_at=starts_at, ends_at=starts_at + length)


def _create(squad: Squad, plan: EventPlan, series: UUID | None) -> Event:
    return Event.objects.create(squad=squad, series=series, **asdict(_checked(plan)))


def _checked(plan: EventPlan) -> EventPlan:
    if not timedelta() < plan.ends_at - plan.starts_at <= LONGEST:
        raise DomainError("event.ends", _("It must end after it starts."), field="ends")
    return plan if plan.kind == Event.Kind.GAME else replace(plan, opponent="")
