"""A finished workout typed in at once, and the correction of one."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Drill
from devplans.workouts import wording
from devplans.workouts.after.forms import pain_field
from devplans.workouts.content import (
    LONGEST_TEXT,
    MOST_COUNTED,
    MOST_MINUTES,
    MOST_SECONDS,
    MOST_SETS,
    Content,
    Problems,
    SetContent,
    ShotContent,
)
from devplans.workouts.models import Workout, WorkoutSet

BLANK_ROWS = 6


def drill_choices(drills: Iterable[Drill]) -> list[Any]:
    """Drills by the family of their skill, for a select."""
    families: dict[str, list[tuple[str, str]]] = {}
    for drill in drills:
        families.setdefault(drill.skill.family, []).append((drill.slug, drill.name))
    return [("", "–"), *((family.capitalize(), rows) for family, rows in families.items())]


class WorkoutForm(forms.Form):
    started_at = forms.DateTimeField(
        label=_("When it began"),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    minutes = forms.IntegerField(
        label=_("Minutes"), min_value=0, max_value=MOST_MINUTES, required=False
    )
    effort = forms.TypedChoiceField(
        label=_("How hard was it?"),
        choices=[("", "–"), *((n, f"{n} · {words}") for n, words in wording.EFFORT)],
        coerce=int,
        empty_value=None,
        required=False,
    )
    kind = forms.ChoiceField(
        label=_("Trained"), choices=Workout.Kind.choices, initial=Workout.Kind.OWN
    )
    note = forms.CharField(
        label=_("Note"),
        help_text=_("Coach and guardian can read it."),
        max_length=LONGEST_TEXT,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    pain = pain_field()
    revision = forms.IntegerField(min_value=0, initial=0, widget=forms.HiddenInput)


class SetForm(forms.Form):
    id = forms.UUIDField(required=False, widget=forms.HiddenInput)
    drill = forms.ChoiceField(label=_("Drill"), required=False)
    side = forms.ChoiceField(
        label=_("Side"), choices=WorkoutSet.Side.choices, initial="none", required=False
    )
    made = forms.IntegerField(label=_("Made"), min_value=0, max_value=MOST_COUNTED, required=False)
    tried = forms.IntegerField(
        label=_("Tried"), min_value=0, max_value=MOST_COUNTED, required=False
    )
    reps = forms.IntegerField(label=_("Reps"), min_value=0, max_value=MOST_COUNTED, required=False)
    seconds = forms.IntegerField(
        label=_("Seconds"), min_value=0, max_value=MOST_SECONDS, required=False
    )

    def __init__(self, *args: Any, choices: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["drill"].choices = choices

    @property
    def counts(self) -> dict[str, int | None]:
        return {name: self.cleaned_data.get(name) for name in ("made", "tried", "reps", "seconds")}

    @property
    def is_filled(self) -> bool:
        return bool(self.cleaned_data.get("drill")) or any(
            v is not None for v in self.counts.values()
        )

    def clean(self) -> dict[str, Any]:
        if self.is_filled and not self.cleaned_data.get("drill"):
            self.add_error("drill", _("Choose the drill."))
        return self.cleaned_data

    def content(self, new_key: UUID) -> SetContent:
        key = self.cleaned_data.get("id") or new_key
        side = self.cleaned_data.get("side") or "none"
        return SetContent(key, self.cleaned_data["drill"], side, **self.counts)


SetFormSet = forms.formset_factory(
    SetForm, extra=BLANK_ROWS, max_num=MOST_SETS, absolute_max=MOST_SETS
)


class WorkoutPage:
    """The two forms of one page: the workout and its sets."""

    def __init__(self, posted: Any, *, choices: list[Any], held: Workout | None = None) -> None:
        content = held.content() if held else None
        self.form = WorkoutForm(posted, initial=_initial(content, held))
        sets = [vars(one) for one in content.sets] if content else []
        self.sets = SetFormSet(
            posted, prefix="sets", initial=sets, form_kwargs={"choices": choices}
        )
        self.held = content

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.sets.is_valid()])

    def is_empty(self) -> bool:
        """Neither minutes nor a set nor a shot: said on the page, with what to do."""
        is_empty = not (self.form.cleaned_data["minutes"] or self._filled or self._shots)
        if is_empty:
            words = _(
                "This workout is still empty. Choose a drill and give what was made and tried, "
                "or give the minutes; then save again."
            )
            self.form.add_error(None, words)
        return is_empty

    @property
    def _shots(self) -> tuple[ShotContent, ...]:
        return self.held.shots if self.held else ()

    @property
    def _filled(self) -> list[SetForm]:
        return [form for form in self.sets.forms if form.is_filled]

    def content(self, player_id: UUID, key: UUID) -> Content:
        """What the page says. Shots are not typed in: they stay as they were. New sets get keys
        that follow from the page's own, so that a form sent twice says the same thing."""
        revision = self.form.cleaned_data["revision"]
        facts = {k: v for k, v in self.form.cleaned_data.items() if k != "revision"}
        sets = tuple(
            form.content(uuid5(key, f"{revision}-{place}"))
            for place, form in enumerate(self._filled)
        )
        kept = {one.id for one in sets}
        shots = tuple(
            replace(shot, set=shot.set if shot.set in kept else None) for shot in self._shots
        )
        return Content(player_id, **facts, sets=sets, shots=shots)

    def tell(self, problems: Problems) -> None:
        """Write what the service found wrong beside the fields it belongs to."""
        for form, wrong in zip(self._filled, problems.get("sets", []), strict=False):
            for name, words in wrong.items():
                form.add_error(name, words)
        for name, words in problems.items():
            if name != "sets":
                self.form.add_error(name if name in self.form.fields else None, words)


def _initial(content: Content | None, held: Workout | None) -> dict[str, Any]:
    if content is None or held is None:
        return {
            "started_at": _to_the_minute(timezone.now()),
            "kind": Workout.Kind.OWN,
            "revision": 0,
        }
    names = ("minutes", "effort", "kind", "note", "pain")
    facts = {name: getattr(content, name) for name in names}
    return {**facts, "started_at": content.started_at, "revision": held.revision}


def _to_the_minute(now: datetime) -> datetime:
    return now.replace(second=0, microsecond=0)
