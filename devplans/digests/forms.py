from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from devplans.digests import planning
from devplans.people.models import Club
from devplans.stats import weeks


def parse_week(text: str, club: Club, now: Any) -> weeks.Week:
    """The week that a page asks for; the last complete one where it asks for none or for
    nonsense."""
    try:
        return weeks.parse_label(text)
    except ValueError:
        return weeks.last_complete_week(now, club.zone)


class PreviewForm(forms.Form):
    """Whose digest to look at: one of those who get one."""

    to = forms.ChoiceField(label=_("Who"))
    week = forms.CharField(required=False)

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.addressees = {key_of(one): one for one in planning.addressees(club)}
        self.fields["to"].choices = [(key, key) for key in self.addressees]

    def clean_to(self) -> planning.Addressee:
        return self.addressees[self.cleaned_data["to"]]


def key_of(to: planning.Addressee) -> str:
    return f"{to.kind}.{to.recipient.pk.hex}.{UUID(str(to.subject)).hex}"
