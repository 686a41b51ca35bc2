"""The minutes plan of the squad's next practice, kept in the address: nothing is stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill
from devplans.people.access import Role
from devplans.people.models import Squad
from devplans.progress.board import minutes
from devplans.progress.board.counts import Line, last_on_film
from devplans.progress.board.minutes import Offer, Plan
from devplans.progress.board.practice import Needs, SkillNeed, drills_of
from devplans.schedule.models import Event
from devplans.workouts.after.reading import Pain, before_practice, open_counts

USUAL_MINUTES = 60
# A player who was neither counted nor told anything on film for so long is named.
LATELY = timedelta(days=21)


@dataclass(frozen=True)
class Item:
    """One drill of the plan. at: when it begins, on the wall clock, else minutes from the start."""

    key: str
    drill: Drill
    minutes: int
    at: str

    @property
    def told(self) -> str:
        return told(self.drill)


def told(drill: Drill) -> str:
    """Whom and what a drill takes: "2 players, hoop"."""
    words = []
    if drill.players_needed > 1:
        words.append(_("%(count)s players") % {"count": drill.players_needed})
    if drill.needs and drill.needs != "nothing":
        words.append(drill.needs)
    return ", ".join(words)


@dataclass(frozen=True)
class Session:
    """event: None where the calendar holds no practice. from_goals: nothing is counted enough, so
    the drills are those of the skills on which players have goals."""

    event: Event | None
    minutes: int
    items: list[Item]
    offers: list[tuple[str, list[tuple[str, Drill]]]]
    is_edited: bool
    from_goals: bool

    @property
    def used(self) -> int:
        return sum(item.minutes for item in self.items)

    @property
    def left(self) -> int:
        return self.minutes - self.used

    @property
    def over(self) -> int:
        return max(0, -self.left)

    @property
    def address(self) -> str:
        return minutes.write([(item.key, item.minutes) for item in self.items])

    @property
    def starts_at(self) -> datetime | None:
        if self.event is None:
            return None
        return self.event.starts_at.astimezone(ZoneInfo(self.event.zone))

    @property
    def facts(self) -> dict[str, Any]:
        """What the page that edits the plan needs to know."""
        start = self.starts_at
        return {
            "event": str(self.event.pk) if self.event else "",
            "minutes": self.minutes,
            "start": start.hour * 60 + start.minute if start else 0,
            "drills": {
                key: {
                    "name": drill.name,
                    "skill": drill.skill.name,
                    "minutes": drill.minutes,
                    "told": told(drill),
                    "how": drill.how,
                }
                for _skill, drills in self.offers
                for key, drill in drills
            },
        }


@dataclass(frozen=True)
class Unseen:
    line: Line
    last_on: date | None


def practice_of(squad: Squad, now: datetime, asked: UUID | None = None) -> Event | None:
    """The practice that a plan is for: the one asked for, else the next one."""
    rows = Event.objects.of_squads([squad.pk]).filter(kind=Event.Kind.PRACTICE, cancelled_at=None)
    found = rows.filter(pk=asked).first() if asked else None
    return found or rows.filter(pk__in=Event.objects.upcoming(now)).order_by("starts_at").first()


def session_of(
    squad: Squad, needs: Needs, now: datetime, *, text: str | None, asked: UUID | None
) -> Session:
    """The plan of the address; without one, drills for what is needed most."""
    event = practice_of(squad, now, asked)
    length = USUAL_MINUTES
    if event is not None:
        length = round((event.ends_at - event.starts_at).total_seconds() / 60)
    drills = drills_of(squad)
    keys = keys_of(drills)
    first = [one for one in needs.ranked if one.drills]
    from_goals = not first
    if from_goals:
        first = by_goals(needs.every)
    if text is None:
        offers = [
            [Offer(keys[d.pk], d.minutes, d.players_needed) for d in one.drills] for one in first
        ]
        plan = minutes.fill(offers, minutes=length, players=len(needs.lines))
    else:
        plan = minutes.parse(text)
    items = _items(plan, {keys[drill.pk]: drill for drill in drills}, event)
    offered = _offered(drills, keys, [one.skill.pk for one in first])
    is_by_goals = from_goals and bool(items) and text is None
    return Session(event, length, items, offered, text is not None, is_by_goals)


def by_goals(every: Iterable[SkillNeed]) -> list[SkillNeed]:
    """Skills on which players have live goals, the most first: no evidence, but what is wanted."""
    wanted = [one for one in every if one.goals and one.drills]
    return sorted(wanted, key=lambda one: -len(one.goals))


def keys_of(drills: Iterable[Drill]) -> dict[UUID, str]:
    """What a drill is called in an address: its slug, or its key where a shipped one has it."""
    drills = list(drills)
    shipped = {drill.slug for drill in drills if drill.club_id is None}
    return {
        drill.pk: str(drill.pk) if drill.club_id and drill.slug in shipped else drill.slug
        for drill in drills
    }


def _items(plan: Plan, drills: dict[str, Drill], event: Event | None) -> list[Item]:
    found, passed = [], 0
    start = event.starts_at.astimezone(ZoneInfo(event.zone)) if event else None
    for key, length in plan:
        if key not in drills:
            continue
        at = f"{passed}′"
        if start is not None:
            # The wall clock runs on evenly: a practice does not wait for a change of the hour.
            at = (start + timedelta(minutes=passed)).strftime("%H:%M")
        found.append(Item(key, drills[key], length, at))
        passed += length
    return found


def _offered(
    drills: list[Drill], keys: dict[UUID, str], first: list[UUID]
) -> list[tuple[str, list[tuple[str, Drill]]]]:
    """Every drill under the name of its skill, the needed skills first."""
    groups: dict[UUID, list[Drill]] = {key: [] for key in first}
    for drill in drills:
        groups.setdefault(drill.skill_id, []).append(drill)
    return [
        (mine[0].skill.name, [(keys[drill.pk], drill) for drill in mine])
        for mine in groups.values()
        if mine
    ]


def unseen(squad: Squad, lines: list[Line], today: date) -> list[Unseen]:
    """Who has not been counted or told anything on film for three weeks, by number."""
    seen = last_on_film(squad, [line.player for line in lines])
    found = [Unseen(line, seen.get(line.player.pk)) for line in lines]
    return [one for one in found if one.last_on is None or one.last_on < today - LATELY]


def hurts(user: Any, squad: Squad, lines: list[Line]) -> tuple[list[Pain], int]:
    """What stands on top of the practice: the answers themselves for a coach of the squad; for
    everybody else how many are open, without words."""
    coached = Squad.objects.for_role(user, Role.COACH).filter(pk=squad.pk).exists()
    if coached:
        return before_practice(user, squad.pk), 0
    return [], sum(open_counts(line.player for line in lines).values())
