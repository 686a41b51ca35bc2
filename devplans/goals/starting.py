"""Where a goal starts: what was counted before it, with the sessions behind it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from devplans.catalogue.models import Drill
from devplans.goals.counts import reps_of
from devplans.goals.models import Goal
from devplans.goals.status import logged
from devplans.goals.status.parts import Count
from devplans.goals.status.reading import whole_first
from devplans.goals.status.shares import monday_of
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.tallies import rates
from devplans.workouts import sums

WEEKS = 4
FILMS = timedelta(weeks=8)


@dataclass(frozen=True)
class Start:
    """sessions: (made, tried), the oldest first. coach_id: who counted them on film."""

    sessions: Sequence[Count] = ()
    coach_id: UUID | None = None

    @property
    def made(self) -> int:
        return sum(made for made, _tried in self.sessions)

    @property
    def tried(self) -> int:
        return sum(tried for _made, tried in self.sessions)


def start_of(goal: Goal, today: date) -> Start:
    """Before `today`: the last four complete weeks of a share; of film the closed tallies of whole
    films of the last eight weeks, one coach's. The goal need not be kept yet."""
    if goal.measure == Goal.Measure.FILM_RATE:
        return _on_film(goal.player, goal.skill_id, today)
    monday = monday_of(today)
    span = logged.Span(goal, monday - timedelta(weeks=WEEKS), monday - timedelta(days=1))
    if goal.measure == Goal.Measure.DRILL_SHARE:
        start, end = (weeks.local_start(day, span.zone) for day in (span.since, monday))
        found = sums.drill_sessions([goal.player], start, end)
        return Start(found.get((goal.player_id, goal.drill_id), ()))  # type: ignore[arg-type]
    if goal.measure == Goal.Measure.DRILL_MARK and goal.mark is None:
        return Start()
    is_mark = goal.measure == Goal.Measure.DRILL_MARK
    found = (logged.of_marks if is_mark else logged.of_zones)([span], (), today)
    sessions = found.get((goal.pk, goal.player_id), [])
    return Start([one.count for one in sessions if one.on <= span.until])


def _on_film(player: Player, skill_id: UUID, today: date) -> Start:
    rows = rates.week_rows([player], skills=[skill_id]).get((player.pk, skill_id), [])
    rate = whole_first(rates.film_rate(rows, since=today - FILMS))
    if rate is None or rate.is_sample:
        return Start()
    return Start([(made, tried) for _on, made, tried in rate.counts], rate.coach_id)


def reps_a_week(player: Player, drill: Drill, today: date) -> int:
    """Of a drill, on average over the last four complete weeks."""
    monday, zone = monday_of(today), player.club.zone
    start = weeks.local_start(monday - timedelta(weeks=WEEKS), zone)
    rows = sums.drill_sums([player], start, weeks.local_start(monday, zone)).get(player.pk, [])
    return round(sum(reps_of(drill, row) for row in rows if row.drill_id == drill.pk) / WEEKS)


def behind(goal: Goal, days: Sequence[date]) -> Start:
    """The sessions that add up to the starting point of a goal, as it was counted on one of these
    days; none where it was typed in."""
    if not goal.start_tried:
        return Start()
    for day in days:
        start = start_of(goal, day)
        if (start.made, start.tried) == (goal.start_made, goal.start_tried):
            return start
    return Start()
