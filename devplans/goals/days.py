"""Days and weeks on a club's wall clock."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from devplans.stats import weeks

WEEK = timedelta(weeks=1)


def today_in(zone: str) -> date:
    return timezone.now().astimezone(ZoneInfo(zone)).date()


def this_week(zone: str) -> weeks.Week:
    return weeks.week_of(timezone.now(), zone)


def this_monday(zone: str) -> date:
    """The first day of the current week."""
    return weeks.monday(*this_week(zone))
