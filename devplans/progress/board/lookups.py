"""Which squad's turn it is, and what else the pages of a squad lead to."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Min, Q

from devplans.core.days import today
from devplans.feedback.cliplists.models import ClipList
from devplans.people.access import Role
from devplans.people.models import Squad
from devplans.schedule.models import Event


def running(user: Any, *roles: Role) -> Any:
    """The squads of the latest seasons that the user reaches in one of `roles`: those of a season
    that is not over, else all of them."""
    squads = Squad.objects.for_role(user, *roles).select_related("season__club")
    going_on = squads.filter(season__ends_on__gte=today())
    return going_on if going_on.exists() else squads


def squad_in_turn(user: Any, now: datetime) -> Squad | None:
    """The coached squad whose practice comes first, else the first by name; where the user coaches
    none, of those he directs."""
    coming = Q(
        events__kind=Event.Kind.PRACTICE, events__cancelled_at=None, events__ends_at__gte=now
    )
    for role in (Role.COACH, Role.DIRECTOR):
        squads = running(user, role).annotate(soonest=Min("events__starts_at", filter=coming))
        found = sorted(
            squads, key=lambda one: (one.soonest is None, one.soonest or now, one.name, one.pk)
        )
        if found:
            return found[0]
    return None


def other_squads(user: Any, squad: Squad) -> list[Squad]:
    return list(running(user, Role.COACH).exclude(pk=squad.pk).order_by("name", "pk"))


def newest_list(user: Any, squad: Squad) -> ClipList | None:
    """The clip list of the squad that was worked on last."""
    rows = ClipList.objects.for_staff(user).of_squads([squad.pk])
    return rows.order_by("-updated_at", "-pk").first()


def club_day(squad: Squad, now: datetime) -> date:
    return now.astimezone(ZoneInfo(squad.season.club.zone)).date()
