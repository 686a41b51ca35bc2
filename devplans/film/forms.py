from datetime import timedelta
from typing import Any

from django import forms
from django.db.models import Case, F, When
from django.forms.models import ModelChoiceIterator
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from devplans.core.edges import NarrowedForm
from devplans.film.models import Film
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule.models import Event

# A film is mostly sent soon after its date, and a date is mostly there before its film.
DAYS_BACK = 60
DAYS_AHEAD = 14


class BySquad(ModelChoiceIterator):
    """Dates under the name of their squad."""

    def __iter__(self) -> Any:
        yield ("", self.field.empty_label)
        groups: dict[str, list[Any]] = {}
        for event in self.queryset:
            groups.setdefault(event.squad.name, []).append(self.choice(event))
        yield from groups.items()


class EventField(forms.ModelChoiceField):
    iterator = BySquad

    def label_from_instance(self, event: Any) -> str:
        day = date_format(timezone.localtime(event.starts_at), "j M Y")
        return f"{day} · {event.title}"


def near_events(squads: Any, chosen: Event | None = None) -> Any:
    """Dates of `squads` that a film may belong to, and the one it has: those behind us, newest
    first, then those ahead, as they come."""
    now = timezone.now()
    near = Event.objects.filter(
        squad__in=squads,
        cancelled_at=None,
        starts_at__range=(now - timedelta(days=DAYS_BACK), now + timedelta(days=DAYS_AHEAD)),
    )
    if chosen is not None:
        near |= Event.objects.filter(pk=chosen.pk)
    ahead = Case(When(starts_at__gt=now, then=F("starts_at")))
    return near.select_related("squad").order_by(ahead.asc(nulls_first=True), "-starts_at")


class UploadForm(NarrowedForm):
    file = forms.FileField(
        label=_("Film"),
        widget=forms.ClearableFileInput(
            attrs={"accept": "video/mp4,video/quicktime,video/webm,.mp4,.m4v,.mov,.webm"}
        ),
        # Empty files get the sentence of the service, the same on the page and in the API.
        allow_empty_file=True,
    )
    title = forms.CharField(
        label=_("Title"), max_length=120, help_text=_("For example: First half v Ashdown")
    )
    squad = forms.ModelChoiceField(label=_("Squad"), queryset=Squad.objects.all(), empty_label=None)
    event = EventField(
        label=_("Game or practice"),
        queryset=Event.objects.all(),
        required=False,
        empty_label=_("Not in the calendar"),
    )

    def __init__(self, *args: Any, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, user=user, **kwargs)
        coached = Squad.objects.allowing(user, Action.COACH_SQUAD)
        # Whoever may read a squad and not coach it is told so by the service, not by the choices.
        offered = coached if not self.is_bound else self.fields["squad"].queryset
        self.fields["squad"].queryset = offered.select_related("season__club")
        self.fields["event"].queryset = near_events(offered)


class AddressForm(UploadForm):
    """A film that the portal fetches itself."""

    file = None
    address = forms.CharField(
        label=_("Address of the film file"),
        widget=forms.URLInput(attrs={"placeholder": "https://", "autocomplete": "off"}),
        help_text=_("It begins with https:// and needs no sign-in."),
    )
    field_order = ["address", "title", "squad", "event"]


class FilmForm(NarrowedForm):
    """Title and date of a film that is there."""

    title = forms.CharField(label=_("Title"), max_length=120)
    event = EventField(
        label=_("Game or practice"),
        queryset=Event.objects.all(),
        required=False,
        empty_label=_("Not in the calendar"),
    )

    def __init__(self, *args: Any, user: Any, film: Film, **kwargs: Any) -> None:
        super().__init__(
            *args, user=user, initial={"title": film.title, "event": film.event_id}, **kwargs
        )
        squads = Squad.objects.visible_to(user).filter(pk=film.squad_id)
        self.fields["event"].queryset = near_events(squads, film.event)
