import json
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.catalogue.choices import by_family
from devplans.catalogue.models import Skill
from devplans.core.edges import NarrowedForm
from devplans.core.errors import DomainError
from devplans.film.models import Film, Possession
from devplans.people.models import Player
from devplans.tallies.models import Tally
from devplans.tallies.roster import Entry
from devplans.tallies.services import MORE, Chance

MOST_AT_ONCE = 500
FEWEST = 5
SKILLS = ("skill", "second", "third")


class NumberedPlayers(forms.ModelMultipleChoiceField):
    """Players with the number that means them."""

    numbers: dict[Any, str] = {}

    def label_from_instance(self, obj: Any) -> str:
        return f"{self.numbers.get(obj.pk, '')} {obj.full_name}".strip()


class StartForm(NarrowedForm):
    """What to count, for whom, over which part of the film."""

    skill = forms.ModelChoiceField(
        Skill.objects.in_use(),
        label=gettext_lazy("Skill"),
        empty_label=gettext_lazy("Choose a skill"),
    )
    second = forms.ModelChoiceField(
        Skill.objects.in_use(),
        label=gettext_lazy("Second skill"),
        required=False,
        empty_label=gettext_lazy("None"),
    )
    third = forms.ModelChoiceField(
        Skill.objects.in_use(),
        label=gettext_lazy("Third skill"),
        required=False,
        empty_label=gettext_lazy("None"),
    )
    players = NumberedPlayers(
        Player.objects.all(),
        label=gettext_lazy("Players"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Tick nobody to count everybody."),
    )
    scope = forms.ChoiceField(
        label=gettext_lazy("How much of it"),
        choices=[
            (Tally.Scope.WHOLE, gettext_lazy("The whole film")),
            (Tally.Scope.SAMPLE, gettext_lazy("A random sample of possessions")),
        ],
        widget=forms.RadioSelect,
        initial=Tally.Scope.WHOLE,
    )
    drawn = forms.IntegerField(
        label=gettext_lazy("Possessions in the sample"),
        min_value=FEWEST,
        max_value=500,
        initial=MORE,
        required=False,
        help_text=gettext_lazy("Twenty take about ten minutes; more can be drawn later."),
    )
    side = forms.ChoiceField(
        label=gettext_lazy("Drawn from"),
        required=False,
        choices=[
            ("", gettext_lazy("All possessions")),
            (Possession.Side.OURS, gettext_lazy("Our ball only")),
            (Possession.Side.THEIRS, gettext_lazy("Their ball only")),
        ],
    )

    def __init__(
        self, *args: Any, film: Film, entries: Sequence[Entry], possessions: int, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        skills = list(Skill.objects.in_use().for_club(film.squad.season.club))
        for name in SKILLS:
            field = self.fields[name]
            field.queryset = field.queryset.for_club(film.squad.season.club)
            field.choices = by_family(skills, field.empty_label)
        chosen = self.fields["players"]
        chosen.numbers = {entry.player.pk: entry.number for entry in entries}
        there = chosen.queryset.filter(pk__in=chosen.numbers)
        chosen.queryset = there
        chosen.choices = [
            (entry.player.pk, f"{entry.number} {entry.player.full_name}".strip())
            for entry in entries
        ]
        self.possessions = possessions
        drawn = self.fields["drawn"]
        drawn.initial = max(FEWEST, min(MORE, possessions))
        drawn.widget.attrs["max"] = max(FEWEST, possessions)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        taken: list[Skill] = []
        for name in SKILLS:
            skill = found.get(name)
            if skill in taken:
                self.add_error(name, _("This skill is chosen above already: choose another one."))
            elif skill:
                taken.append(skill)
        return found

    @property
    def chosen(self) -> dict[str, Any]:
        """As `services.start_tally` takes it."""
        found = self.cleaned_data
        return {
            "skills": [found[name] for name in SKILLS if found.get(name)],
            "players": list(found["players"]),
            "scope": found["scope"],
            "drawn": found.get("drawn") or MORE,
            "side": found.get("side") or "",
        }


class CloseForm(NarrowedForm):
    sure = forms.BooleanField(
        label=gettext_lazy("I have watched the film to its end"), required=False
    )


def batch_from(body: bytes) -> dict[str, Any]:
    """What the counting page sends: `chances`, `seen`, `reached_ms` for `services.keep_marks`.

    Raises DomainError "marks.shape" for anything else.
    """
    try:
        sent = json.loads(body)
        chances = [_chance(one) for one in sent["marks"]]
        seen = [_whole(place) for place in sent.get("seen", [])]
        reached_ms = _whole(sent.get("reached_ms", 0))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise DomainError("marks.shape", _("These are no marks.")) from error
    if len(chances) > MOST_AT_ONCE or len(seen) > MOST_AT_ONCE:
        raise DomainError("marks.many", _("That is too much at once."))
    return {"chances": chances, "seen": seen, "reached_ms": reached_ms}


def _chance(one: Any) -> Chance:
    place = one.get("place")
    for name in ("did_it", "undone"):
        if not isinstance(one.get(name, False), bool):
            raise ValueError(name)
    return Chance(
        id=UUID(one["id"]),
        film_ms=_whole(one["ms"]),
        player=UUID(one["player"]),
        skill=UUID(one["skill"]),
        did_it=one["did_it"],
        place=None if place is None else _whole(place),
        undone=one.get("undone", False),
    )


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 2**31:
        raise ValueError(value)
    return value
