"""The day that dated rows count from."""

from datetime import date

from django.utils import timezone


def today() -> date:
    """The date in UTC: one clock for everything that begins and ends on a day."""
    return timezone.now().date()
