"""Quiet hours: when a notice may reach a minor. Pure."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo


def first_allowed(now: datetime, *, zone: str, from_hour: int, until_hour: int) -> datetime:
    """`now`, or the end of the quiet hours that it lies in, in UTC.

    now: aware. from_hour, until_hour: on the wall clock of `zone`; quiet in [from, until), which
    may span midnight; equal hours mean that there are none.
    """
    local = now.astimezone(ZoneInfo(zone))
    if from_hour == until_hour:
        return now.astimezone(UTC)
    over_midnight = from_hour > until_hour
    if over_midnight:
        is_quiet = local.hour >= from_hour or local.hour < until_hour
    else:
        is_quiet = from_hour <= local.hour < until_hour
    if not is_quiet:
        return now.astimezone(UTC)
    end = local.replace(hour=until_hour, minute=0, second=0, microsecond=0, fold=0)
    if over_midnight and local.hour >= from_hour:
        end += timedelta(days=1)
    return end.astimezone(UTC)
