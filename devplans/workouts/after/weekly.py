"""One player's ISO week of the hours we know of: plain values, summed by the club's wall clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from devplans.stats import load, weeks

# Our own choice, from no source: 1,000 is 200 minutes at effort 5. Below it any few equal days
# make the days look alike, and the figure says nothing.
MONOTONY_FLOOR = 1_000
# Whoever logs his practice may begin before the whistle.
EARLY = timedelta(minutes=15)


@dataclass(frozen=True)
class Session:
    """One workout; minutes and effort are None until it is finished. by_family: the player or a
    guardian logged it, not a coach."""

    started_at: datetime
    kind: str
    minutes: int | None = None
    effort: int | None = None
    by_family: bool = True


@dataclass(frozen=True)
class Attended:
    """A practice or game at which the player was present."""

    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True)
class Elsewhere:
    """Minutes that the family told of: basketball with another team, another sport, free play."""

    team: int = 0
    sport: int = 0
    free: int = 0

    @property
    def total(self) -> int:
        return self.team + self.sport + self.free


@dataclass(frozen=True)
class KnownWeek:
    """Minutes with the team and on one's own; loads in AU, Monday first; the weekdays on which
    anything was logged or attended. unfinished: workouts that count in no minutes or no load yet.
    attended: those minutes with the team that only the coach's ticks tell of, without a load.
    elsewhere: None where nobody has told."""

    team: int
    own: int
    loads: tuple[int, ...]
    trained: frozenset[int]
    unfinished: int
    elsewhere: Elsewhere | None = None
    attended: int = 0

    @property
    def other_team(self) -> int | None:
        return self.elsewhere.team if self.elsewhere else None

    @property
    def other_sport(self) -> int | None:
        return self.elsewhere.sport if self.elsewhere else None

    @property
    def free_play(self) -> int | None:
        return self.elsewhere.free if self.elsewhere else None

    @property
    def organised(self) -> int:
        """Minutes of organised basketball: the team's and another team's, never one's own."""
        return self.team + (self.other_team or 0)

    @property
    def sport(self) -> int:
        """Minutes of training in any sport, one's own too; free play is none."""
        return self.organised + self.own + (self.other_sport or 0)

    @property
    def rest_days(self) -> int:
        """Days on which nothing was logged."""
        return load.DAYS - len(self.trained)

    @property
    def load(self) -> load.WeekLoad:
        return load.week(self.loads)

    @property
    def monotony(self) -> float | None:
        """How alike the days were; None below the floor, and where it is not defined."""
        found = self.load
        return found.monotony if found.total >= MONOTONY_FLOOR else None

    @property
    def is_empty(self) -> bool:
        return not self.trained and not (self.elsewhere and self.elsewhere.total)


def known_week(
    sessions: Iterable[Session],
    elsewhere: Elsewhere | None,
    week: weeks.Week,
    zone: str,
    attended: Iterable[Attended] = (),
) -> KnownWeek:
    """The sums of those sessions that began in the week, by the clock of `zone`, with what
    `untold_minutes` finds of `attended`.

    A session belongs to the day on which it began. Raises ValueError for a naive instant, an
    unknown zone, and a week that does not exist.
    """
    start, end = weeks.bounds(*week, zone)
    sessions = list(sessions)
    dates = [one for one in attended if start <= one.starts_at < end]
    minutes = {"own": 0, "organised": 0}
    loads, trained, unfinished = [0] * load.DAYS, set(), 0
    for one in sessions:
        if not start <= one.started_at < end:
            continue
        day = weeks.weekday_of(one.started_at, zone)
        trained.add(day)
        minutes[one.kind] += one.minutes or 0
        au = load.session(one.effort, one.minutes)
        loads[day] += au or 0
        unfinished += au is None
    trained |= {weeks.weekday_of(one.starts_at, zone) for one in dates}
    untold = untold_minutes(dates, sessions)
    return KnownWeek(
        team=minutes["organised"] + untold,
        own=minutes["own"],
        loads=tuple(loads),
        trained=frozenset(trained),
        unfinished=unfinished,
        elsewhere=elsewhere,
        attended=untold,
    )


def untold_minutes(attended: Iterable[Attended], sessions: Iterable[Session]) -> int:
    """Minutes of the dates attended that no session tells of already; no minute counts twice.

    A session with the team that the family logged, with its minutes, stands for the date in which
    it began. Of anything else that began in it (a coach's count at one basket, a log without
    minutes) the minutes are taken off the length of the date. Of two dates at once the later one
    begins when the other is over.
    """
    sessions, total, until = list(sessions), 0, None
    for one in sorted(attended, key=lambda date: (date.starts_at, date.ends_at)):
        begins = one.starts_at if until is None else max(one.starts_at, until)
        until = one.ends_at if until is None else max(until, one.ends_at)
        length = round((one.ends_at - begins).total_seconds() / 60)
        inside = [session for session in sessions if _is_inside(session, one)]
        if not any(_stands(session) for session in inside):
            total += max(0, length - sum(session.minutes or 0 for session in inside))
    return total


def _is_inside(session: Session, date: Attended) -> bool:
    early = EARLY if session.kind == "organised" else timedelta()
    return date.starts_at - early <= session.started_at < date.ends_at


def _stands(session: Session) -> bool:
    return session.by_family and session.kind == "organised" and session.minutes is not None
