from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from devplans.catalogue.models import Skill
from devplans.core.edges import NarrowedForm
from devplans.feedback.cliplists.models import NOTE_LENGTH, TITLE_LENGTH, ClipList
from devplans.feedback.forms import TimeField
from devplans.feedback.models import Comment
from devplans.people.access import Action
from devplans.people.models import Player, Squad


class DateInput(forms.DateInput):
    input_type = "date"


class NewListForm(NarrowedForm):
    title = forms.CharField(
        label=_("Title"),
        max_length=TITLE_LENGTH,
        help_text=_("The theme, for example: Closeouts, Monday"),
    )
    squad = forms.ModelChoiceField(label=_("Squad"), queryset=Squad.objects.all(), empty_label=None)

    def __init__(self, *args: Any, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, user=user, **kwargs)
        coached = Squad.objects.allowing(user, Action.COACH_SQUAD)
        # Whoever may read a squad and not coach it is told so by the service, not by the choices.
        offered = coached if not self.is_bound else self.fields["squad"].queryset
        self.fields["squad"].queryset = offered.select_related("season__club")


class ListForm(forms.Form):
    title = forms.CharField(label=_("Title"), max_length=TITLE_LENGTH)
    shows_words = forms.BooleanField(
        label=_("Show the notes over the film, with every name masked"), required=False
    )


class ItemForm(forms.Form):
    note = forms.CharField(
        label=_("For the team"),
        max_length=NOTE_LENGTH,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    start_ms = TimeField(label=_("From"), max_length=14)
    end_ms = TimeField(label=_("Until"), max_length=14)


class PickForm(forms.Form):
    """Which list: one that is there, or a new one."""

    clip_list = forms.ModelChoiceField(
        label=_("List"),
        queryset=ClipList.objects.none(),
        required=False,
        empty_label=_("A new list"),
    )
    title = forms.CharField(label=_("Title"), max_length=TITLE_LENGTH, required=False)

    def __init__(self, *args: Any, user: Any, squad: Squad, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lists = ClipList.objects.visible_to(user).of_squads([squad.pk])
        self.fields["clip_list"].queryset = lists
        # The one that was worked on last is most likely the one meant.
        self.fields["clip_list"].initial = lists.order_by("-updated_at").first()

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        if not found.get("clip_list") and not found.get("title") and "title" not in self.errors:
            self.add_error("title", _("Give the new list a title."))
        return found


class SpanForm(PickForm):
    start_ms = TimeField(label=_("From"), max_length=14)
    end_ms = TimeField(label=_("Until"), max_length=14)


class SearchForm(forms.Form):
    """Comments by skill, player, verdict and the day of their film."""

    skill = forms.ModelChoiceField(
        label=_("Skill"), queryset=Skill.objects.none(), required=False, empty_label=_("any")
    )
    player = forms.ModelChoiceField(
        label=_("Player"), queryset=Player.objects.none(), required=False, empty_label=_("any")
    )
    verdict = forms.ChoiceField(
        label=_("Verdict"), choices=[("", _("any")), *Comment.Verdict.choices], required=False
    )
    since = forms.DateField(label=_("Since"), required=False, widget=DateInput)
    until = forms.DateField(label=_("Until"), required=False, widget=DateInput)

    def __init__(self, *args: Any, user: Any, squad: Squad, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        said = Comment.objects.visible_to(user).filter(film__squad=squad, withdrawn_at=None)
        used = Skill.objects.filter(pk__in=said.values("skill")).order_by("name")
        self.fields["skill"].queryset = used
        players = Player.objects.visible_to(user).filter(comments__in=said).distinct()
        self.fields["player"].queryset = players.order_by("first_name", "last_name")
