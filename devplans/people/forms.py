"""Shapes of what people type; the rules are in the services."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _

from devplans.core.days import today
from devplans.core.edges import NarrowedForm
from devplans.people.models import Club, Consent, Invitation, Player, Season, Squad

DAYS = [
    (0, _("Monday")),
    (1, _("Tuesday")),
    (2, _("Wednesday")),
    (3, _("Thursday")),
    (4, _("Friday")),
    (5, _("Saturday")),
    (6, _("Sunday")),
]
HOURS = [(hour, f"{hour:02}:00") for hour in range(24)]
STAFF_ROLES = [
    (Invitation.Kind.DIRECTOR.value, _("Director: runs the club, sees every squad")),
    (Invitation.Kind.WELFARE.value, _("Welfare officer: second adult, gets concerns")),
]


def zones() -> list[tuple[str, str]]:
    """The time zones by the names of places."""
    names = [name for name in available_timezones() if "/" in name and not name.startswith("Etc/")]
    return [("UTC", "UTC"), *((name, name.replace("_", " ")) for name in sorted(names))]


def day_field(label: Any, **more: Any) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, widget=widget, **more)


def address_field(label: Any, **more: Any) -> forms.EmailField:
    widget = forms.EmailInput(attrs={"autocomplete": "email", "inputmode": "email"})
    return forms.EmailField(label=label, widget=widget, max_length=254, **more)


class AccountFields(forms.Form):
    """Name and password of a new account."""

    first_name = forms.CharField(
        label=_("First name"),
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "given-name"}),
    )
    last_name = forms.CharField(
        label=_("Last name"),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "family-name"}),
    )
    password = forms.CharField(
        label=_("Password"),
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=_("At least 10 characters. Leave it empty to sign in by a code in an email."),
    )


class ConsentFields(forms.Form):
    """The two consents that a guardian or an adult player may give; neither is ticked for him."""

    film = forms.BooleanField(required=False)
    email_pictures = forms.BooleanField(required=False)
    relationship = forms.CharField(
        label=_("You are the player's"),
        max_length=40,
        required=False,
        help_text=_("For example mother, father, foster parent."),
    )

    def consents(self) -> list[str]:
        """The kinds that were ticked."""
        return [str(kind) for kind in Consent.Kind if self.cleaned_data.get(str(kind))]


class JoinForm(AccountFields, ConsentFields):
    """A new account that accepts an invitation."""

    field_order = ["relationship", "first_name", "last_name", "password"]


class ClubForm(forms.ModelForm):
    zone = forms.ChoiceField(
        label=_("Time zone"),
        choices=zones,
        help_text=_("Weeks, dates and mails go by the clock of this place."),
    )
    digest_day = forms.TypedChoiceField(
        label=_("Weekly digests go out on"), choices=DAYS, coerce=int
    )
    digest_hour = forms.TypedChoiceField(label=_("at"), choices=HOURS, coerce=int)
    quiet_from_hour = forms.TypedChoiceField(
        label=_("No notices to minors from"), choices=HOURS, coerce=int
    )
    quiet_until_hour = forms.TypedChoiceField(label=_("until"), choices=HOURS, coerce=int)

    class Meta:
        model = Club
        fields = [
            "name",
            "zone",
            "rule_set",
            "digest_day",
            "digest_hour",
            "quiet_from_hour",
            "quiet_until_hour",
            "says_team",
        ]
        labels = {"name": _("Name of the club"), "rule_set": _("Court and rules")}


class SeasonForm(forms.Form):
    name = forms.CharField(label=_("Season"), max_length=60, help_text=_("For example 2026/27."))
    starts_on = day_field(_("First day"))
    ends_on = day_field(_("Last day"))


class SquadForm(NarrowedForm):
    season = forms.ModelChoiceField(label=_("Season"), queryset=Season.objects.none())
    name = forms.CharField(label=_("Name"), max_length=80, help_text=_("For example Under 16."))

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        seasons = club.seasons.order_by("-starts_on")
        self.fields["season"].queryset = seasons
        self.fields["season"].initial = seasons.first()


class SetUpForm(forms.Form):
    """Everything that a new club needs to begin with, but the director's account."""

    name = forms.CharField(label=_("Name of the club"), max_length=120)
    zone = forms.ChoiceField(
        label=_("Time zone"),
        choices=zones,
        initial="Europe/London",
        help_text=_("Weeks, dates and mails go by the clock of this place."),
    )
    rule_set = forms.ChoiceField(label=_("Court and rules"), choices=Club.RuleSet.choices)
    digest_day = forms.TypedChoiceField(
        label=_("Weekly digests go out on"), choices=DAYS, coerce=int, initial=0
    )
    digest_hour = forms.TypedChoiceField(label=_("at"), choices=HOURS, coerce=int, initial=16)
    season_name = forms.CharField(
        label=_("First season"), max_length=60, help_text=_("For example 2026/27.")
    )
    starts_on = day_field(_("First day"))
    ends_on = day_field(_("Last day"))
    squad_name = forms.CharField(
        label=_("First squad"), max_length=80, help_text=_("For example Under 16.")
    )


class FounderForm(SetUpForm, AccountFields):
    """The set-up of a club together with a new account for its director."""

    email = address_field(_("Your email address"))
    field_order = [*SetUpForm.base_fields, "first_name", "last_name", "email", "password"]


class PlayerForm(forms.ModelForm):
    born_on = day_field(
        _("Born on"),
        required=False,
        help_text=_("Without it the player counts as under 18."),
    )
    email = address_field(_("Player's own email"), required=False)

    class Meta:
        model = Player
        fields = ["first_name", "last_name", "born_on", "grade", "hand", "email"]
        labels = {
            "first_name": _("First name"),
            "last_name": _("Last name"),
            "grade": _("School grade"),
            "hand": _("Strong hand"),
        }


class NewPlayerForm(PlayerForm):
    number = forms.CharField(
        label=_("Number"),
        max_length=3,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    field_order = ["number", "first_name", "last_name"]


class PlaceForm(NarrowedForm):
    """Take a player of the club into this squad as well."""

    player = forms.ModelChoiceField(label=_("Player"), queryset=Player.objects.none())
    number = forms.CharField(
        label=_("Number"),
        max_length=3,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )

    def __init__(self, *args: Any, squad: Squad, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = squad.squadplayers.current().values("player")
        of_club = Player.objects.visible_to(self.user).filter(club=squad.season.club)
        self.fields["player"].queryset = of_club.exclude(pk__in=here)


class NumberForm(forms.Form):
    number = forms.CharField(
        label=_("Number"),
        max_length=3,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    since = day_field(_("From"), initial=today)


class LeaveForm(forms.Form):
    last_day = day_field(_("Last day"), initial=today)


class InviteForm(forms.Form):
    name = forms.CharField(label=_("Name"), max_length=160, required=False)
    email = forms.EmailField(label=_("Email address"), max_length=254)


class InviteStaffForm(InviteForm):
    kind = forms.ChoiceField(label=_("Role"), choices=STAFF_ROLES, widget=forms.RadioSelect)
    field_order = ["kind", "name", "email"]


class PaperConsentForm(forms.Form):
    kind = forms.ChoiceField(label=_("Consent to"), choices=Consent.Kind.choices)
    given_by_name = forms.CharField(label=_("Signed by"), max_length=160)
    given_on = day_field(_("Signed on"), initial=today)


class ConsentKindForm(forms.Form):
    kind = forms.ChoiceField(choices=Consent.Kind.choices)


class RosterUploadForm(forms.Form):
    file = forms.FileField(
        label=_("Roster file"),
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,text/csv"}),
    )


class RosterConfirmForm(forms.Form):
    """The file's text comes back from the preview and is read again: nothing is trusted from it."""

    text = forms.CharField(widget=forms.HiddenInput, strip=False)
    send_invitations = forms.BooleanField(label=_("Send the invitations now"), required=False)


class NameForm(forms.Form):
    first_name = forms.CharField(label=_("First name"), max_length=80)
    last_name = forms.CharField(label=_("Last name"), max_length=80, required=False)
