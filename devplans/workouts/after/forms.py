"""The family's answer to a report of pain, and its hours elsewhere."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from devplans.workouts import wording
from devplans.workouts.after.services import LONGEST_NOTE, MOST_MINUTES
from devplans.workouts.after.weekly import Elsewhere
from devplans.workouts.content import LONGEST_TEXT
from devplans.workouts.content import MOST_MINUTES as MOST_MINUTES_AT_ONCE
from devplans.workouts.models import OtherHours, PainAnswer

MINUTES = 60


class PainAnswerForm(forms.Form):
    answer = forms.ChoiceField(
        label=_("How is it now?"), choices=PainAnswer.Answer.choices, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=_("Note"),
        help_text=_("Coach and player can read it."),
        max_length=LONGEST_NOTE,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean_seen(self) -> datetime | None:
        try:
            return datetime.fromisoformat(self.cleaned_data["seen"])
        except ValueError:
            return None


def pain_field() -> forms.CharField:
    """The one question about pain, wherever a workout is written down."""
    return forms.CharField(
        label=_("Does anything hurt?"),
        help_text=_("Leave it empty if nothing does. Else: where, and since when?"),
        max_length=LONGEST_TEXT,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class EffortForm(forms.Form):
    """effort comes from the button that was tapped."""

    effort = forms.TypedChoiceField(
        label=_("How hard was it?"), choices=wording.EFFORT, coerce=int, empty_value=None
    )
    minutes = forms.IntegerField(
        label=_("Minutes"), min_value=0, max_value=MOST_MINUTES_AT_ONCE, required=False
    )
    pain = pain_field()


def hours_field(label: Any, help_text: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        help_text=help_text,
        required=False,
        min_value=0,
        max_value=MOST_MINUTES // MINUTES,
        decimal_places=2,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "0.25", "class": "short"}),
    )


class ElsewhereForm(forms.Form):
    team = hours_field(_("Basketball with another team"), _("Hours, games and practices."))
    sport = hours_field(_("Another sport, with a coach"), _("Hours."))
    free = hours_field(_("Free play"), _("Hours of any sport that nobody leads."))

    def elsewhere(self) -> Elsewhere:
        """What was told, in whole minutes; a field left empty is none."""
        told = {name: self.cleaned_data.get(name) or Decimal(0) for name in self.fields}
        return Elsewhere(**{name: round(hours * MINUTES) for name, hours in told.items()})


def initial_of(row: OtherHours | None) -> dict[str, Any]:
    """The hours as they were told, 1.5 and not 1.50."""
    if row is None or row.is_skipped:
        return {}
    minutes = {"team": row.team_minutes, "sport": row.sport_minutes, "free": row.free_minutes}
    return {name: f"{(number or 0) / MINUTES:g}" for name, number in minutes.items()}
