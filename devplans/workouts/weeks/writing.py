"""Week rows are written in the transaction of what they sum."""

from collections.abc import Collection, Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from devplans.core.mirror import rewrite
from devplans.people.models import Club, Player
from devplans.stats import weeks
from devplans.workouts.models import DrillWeek, Workout, WorkoutWeek
from devplans.workouts.weeks.counting import logged, week_rows

KEY = ("player", "iso_year", "iso_week")


def write_weeks(player: Player, *instants: datetime) -> None:
    """Write the rows of the weeks in which `instants` lie anew.

    Call it in the transaction that changed the player's workouts, after the change: of two at once
    the second waits here for the first and sums what both have written.
    """
    hold([player.pk])
    zone = _zone_of(player.club_id)
    rewrite_rows([player.pk], zone, {weeks.week_of(instant, zone) for instant in instants})


def hold(player_ids: Iterable[UUID]) -> list[UUID]:
    """Keep others from writing these players' weeks until the transaction ends.

    The weaker lock of a row: one that is waited for by nobody who only refers to the player.
    """
    rows = Player.objects.select_for_update(no_key=True).filter(pk__in=list(player_ids))
    return list(rows.order_by("pk").values_list("pk", flat=True))


def rewrite_all(club_id: UUID, player_ids: Iterable[UUID]) -> int:
    """All week rows of some players of one club; how many differed. Inside a transaction."""
    held = hold(player_ids)
    return rewrite_rows(held, _zone_of(club_id))


def rewrite_rows(
    player_ids: Collection[UUID], zone: str, only: Collection[weeks.Week] | None = None
) -> int:
    """The rows of held players, in all weeks or in `only` some; how many differed."""
    workouts = Workout.objects.kept().filter(player__in=player_ids)
    totals = WorkoutWeek.objects.filter(player__in=player_ids)
    drills = DrillWeek.objects.filter(player__in=player_ids)
    if only is not None:
        inside, named = Q(pk__in=[]), Q(pk__in=[])
        for week in only:
            start, end = weeks.bounds(*week, zone)
            inside |= Q(started_at__gte=start, started_at__lt=end)
            named |= Q(iso_year=week[0], iso_week=week[1])
        workouts, totals, drills = (
            workouts.filter(inside),
            totals.filter(named),
            drills.filter(named),
        )
    wanted_totals, wanted_drills = week_rows(logged(workouts), zone)
    return rewrite(totals, wanted_totals, KEY) + rewrite(drills, wanted_drills, (*KEY, "drill"))


def _zone_of(club_id: UUID) -> str:
    """Read after `hold`: who changes the zone holds the players too."""
    return Club.objects.values_list("zone", flat=True).get(pk=club_id)
