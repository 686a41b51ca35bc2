"""What the film page sends about possessions and the game clock."""

from django import forms

from devplans.film.models import Possession

LONGEST_MS = 2**31 - 1


class PossessionForm(forms.Form):
    side = forms.ChoiceField(choices=Possession.Side.choices)
    start_ms = forms.IntegerField(min_value=0, max_value=LONGEST_MS)
    end_ms = forms.IntegerField(min_value=0, max_value=LONGEST_MS, required=False)


class ClockMarkForm(forms.Form):
    # What no clock shows is refused with its own sentence, not by the field.
    film_ms = forms.IntegerField(max_value=LONGEST_MS)
    period = forms.IntegerField(max_value=1_000)
    clock_s = forms.DecimalField(max_digits=6, decimal_places=1)


class PeriodsForm(forms.Form):
    period_count = forms.IntegerField(required=False, max_value=1_000)
    period_s = forms.IntegerField(required=False, max_value=10_000)
    overtime_s = forms.IntegerField(required=False, max_value=10_000)
