"""ISO weeks on a club's wall clock. A week is (iso_year, iso_week), never (calendar year, week)."""

import re
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import TypeAlias
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

Week: TypeAlias = tuple[int, int]
Zone: TypeAlias = tzinfo | str

_LABEL = re.compile(r"([0-9]{4})-W([0-9]{2})")
_WEEK = timedelta(days=7)


def _as_zone(zone: Zone) -> tzinfo:
    if isinstance(zone, tzinfo):
        return zone
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValueError(f"{zone!r} is not a time zone") from error


def monday(iso_year: int, iso_week: int) -> date:
    """First day of the week. Raises ValueError for a week that does not exist."""
    try:
        return date.fromisocalendar(iso_year, iso_week, 1)
    except (ValueError, OverflowError) as error:
        raise ValueError(f"there is no week {iso_week} in {iso_year}") from error


def _shift(week: Week, weeks: int) -> Week:
    start = monday(*week)
    try:
        return _week_of_date(start + weeks * _WEEK)
    except OverflowError as error:
        raise ValueError(f"{weeks} weeks from {start} is outside the calendar") from error


def _week_of_date(day: date) -> Week:
    iso = day.isocalendar()
    return (iso.year, iso.week)


def local_start(day: date, zone: Zone) -> datetime:
    """The first instant of `day` in `zone`, as UTC.

    Where the clock skips midnight this is the moment after the gap; where midnight comes
    twice, the first one.
    """
    try:
        return datetime.combine(day, time.min, tzinfo=_as_zone(zone)).astimezone(UTC)
    except OverflowError as error:
        raise ValueError(f"{day} is outside the calendar") from error


def bounds(iso_year: int, iso_week: int, zone: Zone) -> tuple[datetime, datetime]:
    """(start_utc, end_utc): Monday 00:00 local to the next Monday 00:00 local, half open.

    167 or 169 hours long where the clock changes. Raises ValueError for a week that does not
    exist or a zone that is not known.
    """
    first = monday(iso_year, iso_week)
    following = monday(*_shift((iso_year, iso_week), 1))
    return (local_start(first, zone), local_start(following, zone))


def week_of(instant: datetime, zone: Zone) -> Week:
    """(iso_year, iso_week) of the local date of `instant` in `zone`.

    Raises ValueError for a naive datetime: without an offset it is not an instant.
    """
    if instant.utcoffset() is None:
        raise ValueError("instant must carry a time zone")
    return _week_of_date(instant.astimezone(_as_zone(zone)).date())


def weekday_of(instant: datetime, zone: Zone) -> int:
    """The weekday of the local date of `instant` in `zone`, Monday 0. Raises as `week_of` does."""
    if instant.utcoffset() is None:
        raise ValueError("instant must carry a time zone")
    return instant.astimezone(_as_zone(zone)).weekday()


def previous_week(week: Week) -> Week:
    """The week before. Raises ValueError for a week that does not exist."""
    return _shift(week, -1)


def next_week(week: Week) -> Week:
    """The week after. Raises ValueError for a week that does not exist."""
    return _shift(week, 1)


def last_complete_week(instant: datetime, zone: Zone) -> Week:
    """The latest week that was over at `instant` in `zone`."""
    return previous_week(week_of(instant, zone))


def weeks_between(first: Week, last: Week) -> list[Week]:
    """All weeks from `first` to `last`, both included; empty when `last` is earlier."""
    count = (monday(*last) - monday(*first)) // _WEEK
    return [_shift(first, step) for step in range(count + 1)]


def weeks_from(first: Week, count: int) -> list[Week]:
    """`count` weeks that begin with `first`. Raises ValueError for a week that does not exist."""
    return [_shift(first, step) for step in range(count)]


def weeks_until(last: Week, count: int) -> list[Week]:
    """`count` weeks that end with `last`, the oldest first. Raises ValueError for a week that does
    not exist."""
    return [_shift(last, step) for step in range(1 - count, 1)]


def format_label(week: Week) -> str:
    """The week as "2026-W47". Raises ValueError for a week that does not exist."""
    monday(*week)
    return f"{week[0]:04d}-W{week[1]:02d}"


def parse_label(label: str) -> Week:
    """The week that "2026-W47" names.

    Raises ValueError for another form, and for a week that does not exist.
    """
    match = _LABEL.fullmatch(label)
    if not match:
        raise ValueError(f"a week is written like 2026-W47, got {label!r}")
    week = (int(match[1]), int(match[2]))
    monday(*week)
    return week
