"""Answers that wait and weeks of hours, read for many players in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.formats import date_format

from devplans.people.access import Role
from devplans.people.models import Player, SquadPlayer, User
from devplans.schedule.models import Event
from devplans.stats import weeks
from devplans.workouts.after import youth
from devplans.workouts.after.answering import answerers_of
from devplans.workouts.after.effort import logged_by_coach
from devplans.workouts.after.weekly import Elsewhere, KnownWeek, Session, known_week
from devplans.workouts.attendance.reading import attended
from devplans.workouts.models import OtherHours, PainAnswer, Workout

# How long an answer stands before the coach's next practice; one that says it is gone does not.
ANSWER_STANDS = timedelta(days=14)
DAYS_NEARBY = timedelta(days=60)


# --- when something hurts ---


@dataclass
class Pain:
    """A report with the people who answer it, and the player's next practice."""

    report: PainAnswer
    answerers: list[User]
    practice: Event | None = None
    may_answer: bool = False

    @property
    def names(self) -> list[str]:
        return [one.full_name for one in self.answerers]

    @property
    def practice_at(self) -> str:
        """When the practice begins, by the club's clock; empty without one."""
        if self.practice is None:
            return ""
        starts_at = self.practice.starts_at.astimezone(ZoneInfo(self.practice.zone))
        return date_format(starts_at, "D j M, H:i")


def pain_for(user: Any, pain_id: UUID) -> Pain:
    """One report for whoever may read it: family, coaches, and who stands in for a guardian.

    Raises PainAnswer.DoesNotExist for anybody else.
    """
    report = PainAnswer.objects.with_people().get(pk=pain_id)
    answerers = answerers_of([report.player])[report.player_id]
    may_answer = user.pk in {one.pk for one in answerers}
    if not may_answer and not PainAnswer.objects.near(user).filter(pk=pain_id).exists():
        raise PainAnswer.DoesNotExist
    return Pain(report, answerers, may_answer=may_answer)


def open_for_coach(user: Any) -> list[Pain]:
    """What hurts players of the coach and has no answer yet, the oldest first."""
    return _told(user, PainAnswer.objects.coached_by(user).open().with_people())


def before_practice(user: Any, squad_id: UUID | None = None) -> list[Pain]:
    """What a coach should know before his next practice: open ones first, then the answers that
    stand."""
    rows = PainAnswer.objects.coached_by(user).with_people()
    if squad_id is not None:
        places = SquadPlayer.objects.current().filter(squad=squad_id)
        rows = rows.filter(player__in=places.values("player"))
    standing = rows.filter(answered_at__gte=timezone.now() - ANSWER_STANDS)
    standing = standing.exclude(answer=PainAnswer.Answer.GONE).order_by("-answered_at")
    return _told(user, [*rows.open(), *standing])


def of_family(user: Any) -> list[Pain]:
    """What the user himself or his children wait with."""
    return _told(user, PainAnswer.objects.of_family(user).open().with_people())


def for_office(user: Any) -> list[Pain]:
    """What the user answers as the second adult of children without a guardian."""
    reach = Player.objects.for_role(user, Role.WELFARE, Role.DIRECTOR)
    rows = PainAnswer.objects.filter(player__in=reach).open().with_people()
    return [pain for pain in _told(user, rows) if pain.may_answer]


def open_counts(players: Iterable[Player]) -> dict[UUID, int]:
    """How many answers each player's family owes; no words."""
    found: dict[UUID, int] = defaultdict(int)
    rows = PainAnswer.objects.filter(player__in=list(players)).open()
    for player_id in rows.values_list("player", flat=True):
        found[player_id] += 1
    return found


def near_players(user: Any) -> set[UUID]:
    """The players to whom `user` is family or coach."""
    near = Player.objects.for_role(user, Role.PLAYER, Role.GUARDIAN, Role.COACH)
    return set(near.values_list("pk", flat=True))


def reads_words(user: Any, player: Player) -> bool:
    """May `user` read what hurts? Family, coaches, and who answers; an office alone may not."""
    if player.pk in near_players(user):
        return True
    return user.pk in {one.pk for one in answerers_of([player])[player.pk]}


def _told(user: Any, reports: Iterable[PainAnswer]) -> list[Pain]:
    reports = list(reports)
    players = {report.player_id: report.player for report in reports}
    answerers = answerers_of(players.values()) if players else {}
    practices = _next_practices(players) if players else {}
    return [
        Pain(
            report,
            answerers[report.player_id],
            practices.get(report.player_id),
            user.pk in {one.pk for one in answerers[report.player_id]},
        )
        for report in reports
    ]


def _next_practices(players: Iterable[UUID]) -> dict[UUID, Event]:
    """The next practice of any squad that each player is in today."""
    now = timezone.now()
    events = list(
        Event.objects.upcoming(now)
        .filter(
            kind=Event.Kind.PRACTICE,
            starts_at__lt=now + DAYS_NEARBY,
            squad__squadplayers__player__in=list(players),
        )
        .select_related("squad__season__club")
        .distinct()
    )
    squads: dict[UUID, set[UUID]] = defaultdict(set)
    places = SquadPlayer.objects.current().filter(player__in=list(players))
    for player_id, squad_id in places.values_list("player", "squad"):
        squads[player_id].add(squad_id)
    found: dict[UUID, Event] = {}
    for player_id, theirs in squads.items():
        event = next((event for event in events if event.squad_id in theirs), None)
        if event is not None:
            found[player_id] = event
    return found


# --- the hours we know of ---


@dataclass(frozen=True)
class Hours:
    """One player's running week, the one before it, and what is published beside both. before: the
    week before the last, for the change of load. told: how the question about last week stands."""

    player: Player
    week: weeks.Week
    this: KnownWeek
    last: KnownWeek
    before: KnownWeek
    against_this: youth.Against
    against_last: youth.Against
    told: OtherHours | None

    @property
    def last_week(self) -> weeks.Week:
        return weeks.previous_week(self.week)

    @property
    def last_label(self) -> str:
        return weeks.format_label(self.last_week)

    @property
    def first_day(self) -> Any:
        return weeks.monday(*self.last_week)

    @property
    def last_day(self) -> Any:
        return self.first_day + timedelta(days=6)

    @property
    def change(self) -> int | None:
        """Load of last week less that of the week before; None where either had none."""
        if not self.last.load.total or not self.before.load.total:
            return None
        return round(self.last.load.total - self.before.load.total)

    @property
    def is_change_partial(self) -> bool:
        """Do the two weeks differ in time that has no effort, so that the change says less?"""
        return self.change is not None and self.last.attended != self.before.attended

    @property
    def fall(self) -> int:
        """By how much the load fell; 0 where it did not."""
        return max(0, -(self.change or 0))

    @property
    def past(self) -> list[youth.Remark]:
        """The sentences of limits passed, this week's first."""
        return [*self.against_this.past, *self.against_last.past]

    @property
    def is_asked(self) -> bool:
        """Does the question about last week wait?"""
        return self.told is None


def hours_of(players: Iterable[Player], now: datetime | None = None) -> dict[UUID, Hours]:
    """The hours of each player, read `select_related("club")`; by each club's own clock."""
    players, now = list(players), now or timezone.now()
    found: dict[UUID, Hours] = {}
    by_zone: dict[str, list[Player]] = defaultdict(list)
    for player in players:
        by_zone[player.club.zone].append(player)
    for zone, group in by_zone.items():
        found |= _hours_in(group, zone, weeks.week_of(now, zone))
    return found


def _hours_in(players: list[Player], zone: str, this: weeks.Week) -> dict[UUID, Hours]:
    last = weeks.previous_week(this)
    before = weeks.previous_week(last)
    span = weeks.bounds(*before, zone)[0], weeks.bounds(*this, zone)[1]
    sessions, dates = sessions_of(players, *span), attended(players, *span)
    told = {
        (row.player_id, (row.iso_year, row.iso_week)): row
        for row in OtherHours.objects.of_weeks(players, [before, last, this])
    }
    found = {}
    for player in players:
        known = {
            week: known_week(
                sessions[player.pk],
                elsewhere_of(told.get((player.pk, week))),
                week,
                zone,
                dates[player.pk],
            )
            for week in (this, last, before)
        }
        found[player.pk] = Hours(
            player=player,
            week=this,
            this=known[this],
            last=known[last],
            before=known[before],
            against_this=youth.against(player, known[this], this, is_over=False),
            against_last=youth.against(player, known[last], last, is_over=True),
            told=told.get((player.pk, last)),
        )
    return found


def sessions_of(
    players: Iterable[Player], start: datetime, end: datetime
) -> dict[UUID, list[Session]]:
    """The kept workouts of each player that began in [start, end), as plain values."""
    found: dict[UUID, list[Session]] = defaultdict(list)
    rows = Workout.objects.between(start, end).filter(player__in=list(players)).order_by()
    rows = rows.annotate(by_coach=logged_by_coach())
    facts = rows.values_list("player", "started_at", "kind", "minutes", "effort", "by_coach")
    for player_id, *said, by_coach in facts:
        found[player_id].append(Session(*said, by_family=not by_coach))
    return found


def elsewhere_of(row: OtherHours | None) -> Elsewhere | None:
    """What a row tells; None where nobody has told, or it was skipped."""
    if row is None or row.is_skipped:
        return None
    return Elsewhere(row.team_minutes or 0, row.sport_minutes or 0, row.free_minutes or 0)
