from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from devplans.workouts.models import Workout, WorkoutSet
from devplans.workouts.shooting import reading
from devplans.workouts.shooting.reading import Choice

EVERY = [("", _("all"))]


class ShotsForm(forms.Form):
    """What is shown. An address with nonsense in it shows everything."""

    kind = forms.ChoiceField(
        label=_("Trained"), choices=[*EVERY, *Workout.Kind.choices], required=False
    )
    drill = forms.ChoiceField(label=_("Drill"), required=False)
    side = forms.ChoiceField(
        label=_("Side"), choices=[*EVERY, *WorkoutSet.Side.choices], required=False
    )

    def __init__(self, *args: Any, drills: Any = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = [(str(drill.pk), drill.name) for drill in drills]
        self.fields["drill"].choices = [*EVERY, *names]


def choice_of(asked: Any) -> Choice:
    """The choice that an address makes; what is not one of ours counts as not asked for."""
    span, kind, side = asked.get("span", ""), asked.get("kind", ""), asked.get("side", "")
    return Choice(
        span=span if span in reading.SPANS else "4",
        kind=kind if kind in Workout.Kind.values else "",
        drill=_key(asked.get("drill", "")),
        side=side if side in WorkoutSet.Side.values else "",
    )


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
