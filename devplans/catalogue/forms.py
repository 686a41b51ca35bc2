from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.catalogue.models import Drill, Skill
from devplans.catalogue.services import MOST_CUES, DrillPlan
from devplans.core.edges import NarrowedForm
from devplans.people.models import Club

CUE_LENGTH = 90


class SkillForm(NarrowedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    family = forms.CharField(
        label=gettext_lazy("Family"),
        max_length=40,
        help_text=gettext_lazy("The group it stands in, such as shooting or on-ball defence."),
        widget=forms.TextInput(attrs={"list": "families", "autocomplete": "off"}),
    )
    opportunity = forms.CharField(
        label=gettext_lazy("What counts as a chance"),
        max_length=200,
        help_text=gettext_lazy(
            "When is there something to do well or not? For example: each closeout to a catch."
        ),
    )
    cues = forms.CharField(
        label=gettext_lazy("Cues"),
        help_text=gettext_lazy("One short phrase a line, the most important first, five at most."),
        widget=forms.Textarea(attrs={"rows": MOST_CUES}),
    )

    def clean_cues(self) -> list[str]:
        cues = [line.strip() for line in self.cleaned_data["cues"].splitlines() if line.strip()]
        if len(cues) > MOST_CUES:
            raise ValidationError(
                _("Keep the %(most)s that matter most; here are %(count)s."),
                params={"most": MOST_CUES, "count": len(cues)},
            )
        if any(len(cue) > CUE_LENGTH for cue in cues):
            raise ValidationError(
                _("Keep each cue under %(most)s characters."), params={"most": CUE_LENGTH}
            )
        return cues


def _counts() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in Drill.Counts.choices]


def _sides() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in Drill.Sides.choices]


class DrillForm(NarrowedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    skill = forms.ModelChoiceField(label=gettext_lazy("Skill"), queryset=Skill.objects.none())
    counts = forms.ChoiceField(label=gettext_lazy("What is counted"), choices=_counts)
    sides = forms.ChoiceField(label=gettext_lazy("Sides"), choices=_sides)
    default_sets = forms.IntegerField(
        label=gettext_lazy("Sets"), min_value=1, max_value=50, initial=3
    )
    default_per_set = forms.IntegerField(
        label=gettext_lazy("In each set"), min_value=1, max_value=600, initial=10
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"), min_value=1, max_value=240, initial=8
    )
    players_needed = forms.IntegerField(
        label=gettext_lazy("Players needed"), min_value=1, max_value=30, initial=1
    )
    needs = forms.CharField(
        label=gettext_lazy("What it needs"),
        max_length=80,
        required=False,
        help_text=gettext_lazy("A hoop, a ball, a wall, or nothing."),
    )
    how = forms.CharField(
        label=gettext_lazy("How it goes"),
        max_length=1_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        usable = Skill.objects.visible_to(self.user).for_club(club)
        shown = usable.in_use() | usable.filter(pk=self.initial.get("skill"))
        self.fields["skill"].queryset = shown.order_by("name")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """`name`, `skill` and `plan`, as the services take them."""
        given = dict(super().clean() or {})
        if self.errors:
            return given
        top = {name: given.pop(name) for name in ("name", "skill")}
        return {**top, "plan": DrillPlan(**given)}
