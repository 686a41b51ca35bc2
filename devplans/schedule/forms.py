from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.core.edges import NarrowedForm
from devplans.schedule.models import Event
from devplans.schedule.services import EventPlan


class DayInput(forms.DateInput):
    input_type = "date"

    def format_value(self, value: Any) -> Any:
        return value.isoformat() if isinstance(value, date) else value


class ClockInput(forms.TimeInput):
    input_type = "time"

    def format_value(self, value: Any) -> Any:
        return value.strftime("%H:%M") if isinstance(value, time) else value


def _instant(day: date, at: time, zone: ZoneInfo) -> datetime:
    """That time by the club's clock. Raises ValidationError for one that the clock skips."""
    wanted = datetime.combine(day, at, tzinfo=zone)
    there = datetime.fromtimestamp(wanted.timestamp(), zone)
    if there.replace(tzinfo=None) != wanted.replace(tzinfo=None):
        raise ValidationError(_("The clocks go forward then: there is no such time on that day."))
    return wanted


def _kinds() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in Event.Kind.choices]


class EventForm(NarrowedForm):
    """Times are the club's. A practice past midnight ends on the day after it starts."""

    kind = forms.ChoiceField(
        label=gettext_lazy("What"), choices=_kinds, initial=Event.Kind.PRACTICE
    )
    day = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    starts = forms.TimeField(label=gettext_lazy("From"), widget=ClockInput)
    ends = forms.TimeField(label=gettext_lazy("To"), widget=ClockInput)
    place = forms.CharField(label=gettext_lazy("Place"), max_length=120, required=False)
    opponent = forms.CharField(
        label=gettext_lazy("Opponent"),
        max_length=80,
        required=False,
        help_text=gettext_lazy("For a game."),
    )

    def __init__(self, *args: Any, zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = ZoneInfo(zone)

    def clean(self) -> dict[str, Any]:
        """`plan`, as the services take it, and whatever else the form asks."""
        given = dict(super().clean() or {})
        if self.errors:
            return given
        day, starts, ends = given.pop("day"), given.pop("starts"), given.pop("ends")
        if not 1970 <= day.year <= 2200:
            self.add_error("day", _("Choose a day of this century."))
            return given
        last_day = day + timedelta(days=1) if ends < starts else day
        plan = {name: given.pop(name) for name in ("kind", "place", "opponent")}
        plan["starts_at"] = self._asked("starts", day, starts)
        plan["ends_at"] = self._asked("ends", last_day, ends)
        return given if self.errors else {**given, "plan": EventPlan(**plan)}

    def _asked(self, name: str, day: date, at: time) -> datetime | None:
        try:
            return _instant(day, at, self.zone)
        except ValidationError as error:
            self.add_error(name, error)
            return None


class NewEventForm(EventForm):
    until = forms.DateField(
        label=gettext_lazy("Every week until"),
        required=False,
        widget=DayInput,
        help_text=gettext_lazy("The last date it may fall on. Leave it empty for one date only."),
    )


def initial_of(event: Event) -> dict[str, Any]:
    """What the form shows for a date that is there."""
    zone = ZoneInfo(event.zone)
    starts, ends = event.starts_at.astimezone(zone), event.ends_at.astimezone(zone)
    return {
        "kind": event.kind,
        "day": starts.date(),
        "starts": starts.time(),
        "ends": ends.time(),
        "place": event.place,
        "opponent": event.opponent,
    }
