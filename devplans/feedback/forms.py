import json
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.feedback import drawing as drawings
from devplans.feedback import picking, reading, roster, times
from devplans.feedback.models import Comment
from devplans.feedback.naming import folded
from devplans.feedback.roster import Entry
from devplans.film.models import Film
from devplans.people.models import Player

MOST_CUES = 5


class TimeField(forms.CharField):
    """A place in the film, "12:04.3"; milliseconds."""

    def prepare_value(self, value: Any) -> Any:
        return times.told(value) if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return times.parsed(text)
        except ValueError:
            message = _("Write the time as minutes and seconds: 12:04.3")
            raise forms.ValidationError(message) from None


class FileOrTextForm(forms.Form):
    """A file, or its text. accept: the kinds of files that a browser offers to choose from."""

    accept = ""
    file = forms.FileField(
        label=gettext_lazy("File (one of the two)"), required=False, allow_empty_file=True
    )
    text = forms.CharField(
        label=gettext_lazy("Or paste its text (one of the two)"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].widget.attrs["accept"] = self.accept

    def content(self, most: int) -> bytes:
        """What was sent; one byte more than allowed tells that there is more."""
        file = self.cleaned_data["file"]
        if file is not None:
            return bytes(file.read(most + 1))
        return self.cleaned_data["text"].encode()

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        if found.get("file") is None and not found.get("text", "").strip():
            raise forms.ValidationError(_("Choose a file, or paste its text."))
        return found


class DrawingField(forms.JSONField):
    """The shapes on the frame, as JSON; a form that does not send them leaves them as they are."""

    widget = forms.HiddenInput

    def prepare_value(self, value: Any) -> Any:
        return "[]" if value in (None, "") else super().prepare_value(value)

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        if found is None:
            return None
        try:
            return drawings.checked(found)
        except DomainError as error:
            raise forms.ValidationError(str(error)) from error


class CommentForm(forms.Form):
    """A comment as a coach types it; `players` are the picked ones, `who` what is still typed."""

    start_ms = TimeField(label=gettext_lazy("Moment"), max_length=14)
    end_ms = TimeField(label=gettext_lazy("Until"), max_length=14, required=False)
    who = forms.CharField(label=gettext_lazy("Players"), max_length=300, required=False)
    players = forms.MultipleChoiceField(required=False)
    skill = forms.CharField(
        label=gettext_lazy("Skill"),
        max_length=80,
        error_messages={"required": gettext_lazy("Name the skill: a few letters are enough.")},
    )
    verdict = forms.ChoiceField(
        label=gettext_lazy("Verdict"),
        choices=Comment.Verdict.choices,
        widget=forms.RadioSelect,
        error_messages={"required": gettext_lazy("Choose did it, not yet or note.")},
    )
    happened = forms.CharField(
        label=gettext_lazy("What happened"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    do_instead = forms.CharField(
        label=gettext_lazy("Next time"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    drawing = DrawingField(
        required=False,
        error_messages={"invalid": gettext_lazy("This is not a drawing.")},
    )

    def __init__(
        self,
        *args: Any,
        film: Film,
        entries: Sequence[Entry],
        comment: Comment | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.film = film
        self.entries = entries
        self.comment = comment
        self.skills = reading.skills_for(film.squad.season.club, comment)
        for skill in self.skills:
            skill.cues_json = json.dumps(skill.cues[:MOST_CUES])  # type: ignore[attr-defined]
        self.fields["players"].choices = [  # type: ignore[attr-defined]
            (str(entry.player.pk), entry.player.full_name) for entry in entries
        ]
        if comment is not None and comment.sent_at is not None:
            del self.fields["who"], self.fields["players"]

    @property
    def picked(self) -> list[Entry]:
        """The entries shown as picked: as sent back, else those of the comment."""
        if self.is_bound:
            keys = set(self.data.getlist("players"))
        elif self.comment is not None:
            keys = {str(player.pk) for player in self.comment.players.all()}
        else:
            keys = set()
        return [entry for entry in self.entries if str(entry.player.pk) in keys]

    def clean_who(self) -> list[Player]:
        picked = picking.pick(self.entries, self.cleaned_data["who"])
        problems = [
            _("“%(word)s” may be %(names)s: type the number.")
            % {"word": word, "names": _(" or ").join(f"{e.number} {e.player}" for e in found)}
            for word, found in picked.unsure.items()
        ]
        if picked.unknown:
            words = ", ".join(picked.unknown)
            problems.append(_("Nobody in this squad is called %(words)s.") % {"words": words})
        if problems:
            raise forms.ValidationError(problems)
        return [entry.player for entry in picked.entries]

    def clean_skill(self) -> Skill:
        typed = folded(self.cleaned_data["skill"])
        exact = [one for one in self.skills if typed in {one.slug, folded(one.name)}]
        near = exact or [one for one in self.skills if typed in folded(one.name)]
        if len(near) == 1 or exact:
            return near[0]
        if near:
            names = ", ".join(one.name for one in near[:4])
            raise forms.ValidationError(_("Which one: %(names)s?") % {"names": names})
        raise forms.ValidationError(_("There is no such skill in the catalogue."))

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        if "who" not in self.fields:
            return found
        keys = set(found.pop("players", []))
        typed = found.pop("who", None)
        if typed is None:
            return found
        chosen = [entry.player for entry in self.entries if str(entry.player.pk) in keys]
        found["players"] = chosen + [player for player in typed if player not in chosen]
        if not found["players"] and "who" not in self.errors:
            self.add_error("who", _("Name at least one player."))
        return found

    def refuse(self, field: str | None, message: str) -> None:
        """Put a service's refusal where the person can see it."""
        shown = "who" if field == "players" else field
        self.add_error(shown if shown in self.fields else None, message)


class TextForm(forms.Form):
    """A few words into a thread."""

    text = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": gettext_lazy("Write something first.")},
    )


class PhraseForm(forms.Form):
    do_instead = forms.CharField(max_length=200)
    skill = forms.CharField(max_length=80, required=False)


def comment_form(
    film: Film, *args: Any, comment: Comment | None = None, **more: Any
) -> CommentForm:
    """The form for a new comment of `film`, or for `comment`."""
    extra = list(comment.players.all()) if comment is not None else []
    entries = roster.roster(film, extra=extra)
    if comment is not None:
        more.setdefault("initial", _initial(comment))
    return CommentForm(*args, film=film, entries=entries, comment=comment, **more)


def _initial(comment: Comment) -> dict[str, Any]:
    names = ("start_ms", "end_ms", "verdict", "happened", "do_instead")
    words = {name: getattr(comment, name) for name in names}
    return {"skill": comment.skill.name, "drawing": drawings.shapes_of(comment), **words}
