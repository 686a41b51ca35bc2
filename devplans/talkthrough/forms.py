from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.catalogue.models import Skill
from devplans.feedback.forms import CommentForm, FileOrTextForm
from devplans.feedback.roster import Entry
from devplans.people.models import Player
from devplans.talkthrough import offsets
from devplans.talkthrough.models import Suggestion


class SuggestionForm(CommentForm):
    """A suggestion as a coach corrects it; players and skill may still be missing."""

    def __init__(
        self, *args: Any, suggestion: Suggestion, entries: Sequence[Entry], **kwargs: Any
    ) -> None:
        kwargs.setdefault("initial", _initial(suggestion))
        super().__init__(*args, film=suggestion.talk.film, entries=entries, **kwargs)
        self.suggestion = suggestion
        self.fields["skill"].required = False
        del self.fields["drawing"]
        if suggestion.skill is not None and suggestion.skill not in self.skills:
            suggestion.skill.cues_json = "[]"  # type: ignore[attr-defined]
            self.skills.append(suggestion.skill)

    @property
    def picked(self) -> list[Entry]:
        if self.is_bound:
            return super().picked
        keys = {player.pk for player in self.suggestion.players.all()}
        return [entry for entry in self.entries if entry.player.pk in keys]

    def clean_skill(self) -> Skill | None:  # type: ignore[override]
        return super().clean_skill() if self.cleaned_data["skill"].strip() else None

    def clean(self) -> dict[str, Any]:
        found = forms.Form.clean(self) or self.cleaned_data
        keys = set(found.pop("players", []))
        typed: list[Player] = found.pop("who", None) or []
        chosen = [entry.player for entry in self.entries if str(entry.player.pk) in keys]
        found["players"] = chosen + [player for player in typed if player not in chosen]
        return found


def _initial(suggestion: Suggestion) -> dict[str, Any]:
    names = ("start_ms", "end_ms", "verdict", "happened", "do_instead")
    words = {name: getattr(suggestion, name) for name in names}
    return {"skill": suggestion.skill.name if suggestion.skill else "", **words}


class OffsetField(forms.CharField):
    """ "1:05", "-0:20", "0": milliseconds of the film at the transcript's 0:00."""

    def clean(self, value: Any) -> int:
        try:
            return offsets.parsed(super().clean(value))
        except ValueError:
            message = _("Write it as minutes and seconds, 1:05; with a minus where the film is")
            raise forms.ValidationError(message + " " + _("ahead: -0:20.")) from None


class TranscriptForm(FileOrTextForm):
    """A transcript's file, or its text, and where it begins on the film."""

    accept = ".vtt,.srt,.txt,text/vtt,text/plain"

    name = forms.CharField(max_length=200, required=False, widget=forms.HiddenInput)
    offset = OffsetField(
        label=gettext_lazy("The transcript's 0:00 is at … on the film"),
        max_length=12,
        required=False,
        initial="0:00",
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
    )

    @property
    def file_name(self) -> str:
        file = self.cleaned_data["file"]
        return file.name[:200] if file is not None else self.cleaned_data["name"]


class AliasForm(forms.Form):
    heard = forms.CharField(label=gettext_lazy("Heard or written as"), max_length=60)
    player = forms.ChoiceField(label=gettext_lazy("Player"))
    sure = forms.BooleanField(
        label=gettext_lazy("Yes: it means this player each time"), required=False
    )

    def __init__(self, *args: Any, players: Sequence[Player], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_key = {str(player.pk): player for player in players}
        choices = [
            ("", _("pick a player")),
            *((key, p.full_name) for key, p in self.by_key.items()),
        ]
        self.fields["player"].choices = choices  # type: ignore[attr-defined]

    def clean_player(self) -> Player:
        return self.by_key[self.cleaned_data["player"]]


class PhraseForm(forms.Form):
    text = forms.CharField(label=gettext_lazy("What you say"), max_length=60)
    skill = forms.ChoiceField(label=gettext_lazy("Skill"))

    def __init__(self, *args: Any, skills: Sequence[Skill], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_key = {str(skill.pk): skill for skill in skills}
        choices = [("", _("pick a skill")), *((key, s.name) for key, s in self.by_key.items())]
        self.fields["skill"].choices = choices  # type: ignore[attr-defined]

    def clean_skill(self) -> Skill:
        return self.by_key[self.cleaned_data["skill"]]
