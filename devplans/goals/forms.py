from datetime import date
from typing import Any

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Drill, Skill
from devplans.core.edges import NarrowedForm
from devplans.goals import aims, plans, starting
from devplans.goals.aims import Aim
from devplans.goals.days import today_in
from devplans.goals.models import Goal, PlanItem
from devplans.goals.zones import zones_of
from devplans.people.models import Player


class PlanForm(NarrowedForm):
    pass


class DayInput(forms.DateInput):
    input_type = "date"

    def format_value(self, value: Any) -> Any:
        return value.isoformat() if isinstance(value, date) else value


def _measures() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in Goal.Measure.choices]


def _marks() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in Goal.Mark.choices]


def _targets() -> list[tuple[str, str]]:
    return [(value, capfirst(label)) for value, label in PlanItem.Target.choices]


def _count(label: Any, *, least: int = 0, help_text: Any = "") -> forms.IntegerField:
    return forms.IntegerField(
        label=label, required=False, min_value=least, max_value=100_000, help_text=help_text
    )


def _pickable(model: Any, player: Player, kept: Any = None) -> Any:
    """Rows of the catalogue that may be picked for a player, and the one that is there already."""
    rows = model.objects.for_club(player.club)
    found = rows.in_use()
    return (found | rows.filter(pk=kept)) if kept else found


class GoalForm(PlanForm):
    """Which of the figures are needed depends on the measure."""

    skill = forms.ModelChoiceField(
        Skill.objects.in_use(), label=_("Skill"), empty_label=_("Choose a skill")
    )
    words = forms.CharField(
        label=_("In plain words"),
        max_length=200,
        required=False,
        help_text=_("As you would say it to the player: “Land on two feet.”"),
    )
    measure = forms.ChoiceField(
        label=_("How it is measured"), choices=_measures, widget=forms.RadioSelect
    )
    drill = forms.ModelChoiceField(
        Drill.objects.in_use(),
        label=_("Drill in which it is counted"),
        required=False,
        empty_label=_("Choose a drill"),
    )
    zone = forms.ChoiceField(
        label=_("Zone"), required=False, help_text=_("Counted from shots with a place.")
    )
    mark_kind = forms.ChoiceField(
        label=_("What a set has to reach"),
        choices=lambda: [("", _("Choose")), *_marks()],
        required=False,
    )
    mark = _count(_("How many seconds or makes"), least=1)
    start_made = _count(_("Made at the start"))
    start_tried = _count(_("Out of"))
    start_reps = _count(
        _("Reps a week at the start"),
        help_text=_("Left empty: what was logged in the last four complete weeks."),
    )
    target_percent = forms.IntegerField(
        label=_("Target in percent"), required=False, min_value=1, max_value=100
    )
    target_reps = _count(_("Target in reps a week"), least=1)
    chances_needed = _count(
        _("Over how many chances, tries or sets"),
        least=1,
        help_text=_(
            "The target is a share of so many. Left empty: of as many as there are until it is due."
        ),
    )
    due_on = forms.DateField(label=_("Due on"), widget=DayInput)

    def __init__(self, *args: Any, player: Player, held: Goal | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self.player = player
        skill, drill = (held.skill_id, held.drill_id) if held else (None, None)
        self.fields["skill"].queryset = _pickable(Skill, player, skill)  # type: ignore[attr-defined]
        self.fields["drill"].queryset = _pickable(Drill, player, drill)  # type: ignore[attr-defined]
        zones = [(name, str(words)) for name, words in zones_of(player.club.rule_set).items()]
        self.fields["zone"].choices = [("", _("Choose a zone")), *zones]  # type: ignore[attr-defined]
        self.begun = held is not None and held.life != Goal.Life.DRAFT
        if self.begun:
            for name in aims.FIXED_WHILE_LIVE:
                self.fields[name].disabled = True

    def aim(self) -> Aim:
        """What the form asks for. A start that is left empty is counted from drill or film."""
        asked = dict(self.cleaned_data)
        percent = asked.pop("target_percent")
        aim = aims.cleared(Aim(**asked, target_share=None if percent is None else percent / 100))
        return aim if self.begun else self._started(aim)

    def _started(self, aim: Aim) -> Aim:
        empty = (aim.start_made, aim.start_tried, aim.start_reps) == (None, None, None)
        if not empty:
            return aim
        today = today_in(self.player.club.zone)
        if aim.measure == aims.REPS_PER_WEEK:
            if aim.drill is None:
                return aim
            reps = starting.reps_a_week(self.player, aim.drill, today)
            return Aim(**aim.as_fields() | {"start_reps": reps})
        start = starting.start_of(Goal(player=self.player, **aim.as_fields()), today)
        if not start.tried:
            return aim
        figures = {"start_made": start.made, "start_tried": start.tried}
        return Aim(**aim.as_fields() | figures)


def first_of(goal: Goal) -> dict[str, Any]:
    """What the form shows for a goal that is there."""
    names = {*GoalForm.base_fields} - {"target_percent"}
    shown = {name: getattr(goal, name) for name in names}
    share = goal.target_share
    return shown | {"target_percent": None if share is None else round(share * 100)}


class CloseForm(PlanForm):
    words = forms.CharField(
        label=_("A word to the player: why it ends"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class ItemForm(PlanForm):
    target_in = forms.ChoiceField(label=_("What is counted"), choices=_targets)
    weekly_target = forms.IntegerField(label=_("How many a week"), min_value=1, max_value=10_000)


class NewItemForm(PlanForm):
    drill = forms.ModelChoiceField(
        Drill.objects.in_use(), label=_("Drill"), empty_label=_("Choose a drill")
    )
    target_in = forms.ChoiceField(
        label=_("What is counted"),
        choices=lambda: [("", _("As the drill says")), *_targets()],
        required=False,
    )
    weekly_target = forms.IntegerField(
        label=_("How many a week"),
        min_value=1,
        max_value=10_000,
        required=False,
        help_text=_("Left empty: what the drill asks for, once."),
    )

    def __init__(self, *args: Any, player: Player, goal: Goal | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        rows = _pickable(Drill, player).select_related("skill")
        field: Any = self.fields["drill"]
        field.queryset = rows
        field.label_from_instance = _drill_label
        if goal is not None:
            field.help_text = _("Drills for %(skill)s come first.") % {"skill": goal.skill}
            field.queryset = plans.of_skill_first(rows, goal.skill_id)


def _drill_label(drill: Drill) -> str:
    return f"{drill.name} · {drill.skill}"
