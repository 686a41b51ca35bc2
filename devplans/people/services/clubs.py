from datetime import date, timedelta
from typing import Any
from zoneinfo import available_timezones

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action, Role
from devplans.people.changes import zone_changed
from devplans.people.links import claim_invitation, issue
from devplans.people.models import Club, Invitation, Membership, Season, Squad, User
from devplans.people.services.accounts import NewAccount, make_account
from devplans.people.services.phones import end_phones_shown_by

CLUB_FIELDS = (
    "name",
    "zone",
    "rule_set",
    "digest_day",
    "digest_hour",
    "quiet_from_hour",
    "quiet_until_hour",
    "says_team",
)


def invite_founder() -> str:
    """The one-time secret with which a club is set up; only the operator's command asks for it."""
    invitation, token = issue(kind=Invitation.Kind.FOUNDER)
    audit.record(None, "people.founder_invited", invitation)
    return token


@transaction.atomic
def set_up_club(
    *,
    actor: User | None,
    token: str,
    club: dict[str, Any],
    season: dict[str, Any],
    squad_name: str,
    account: NewAccount | None = None,
) -> tuple[Club, User]:
    """Set up a club with its first season, its first squad and its director, once per link.

    actor: who is signed in and becomes the director; None where `account` is to be made.
    Raises DomainError "invitation.…" for a link that is no longer open, and what its parts raise.
    """
    invitation = claim_invitation(token, kinds=(Invitation.Kind.FOUNDER,))
    if actor is None:
        if account is None:
            raise DomainError("account.missing", _("Somebody has to be the director."))
        actor = make_account(account=account)
    made = Club(**{name: club[name] for name in CLUB_FIELDS if name in club})
    _check_club(made)
    made.save(force_insert=True)
    Membership.objects.create(user=actor, club=made, role=Role.DIRECTOR)
    first = add_season(actor=actor, club=made, **season)
    add_squad(actor=actor, season=first, name=squad_name)
    invitation.club = made
    invitation.accepted_by = actor
    invitation.save(update_fields=["club", "accepted_by", "updated_at"])
    audit.record(actor, "people.club_set_up", made, club_id=made.pk)
    return made, actor


def _check_club(club: Club) -> None:
    club.name = club.name.strip()
    if not club.name:
        raise DomainError("club.name", _("Please give the club's name."), field="name")
    if club.zone not in available_timezones():
        raise DomainError("club.zone", _("This time zone is not known."), field="zone")


@transaction.atomic
def change_club(*, actor: User, club: Club, **fields: Any) -> Club:
    """Change settings of a club: name, time zone, rule set, digest time, quiet hours, wording."""
    access.require(actor, Action.RUN_CLUB, club)
    changed = [
        name for name in CLUB_FIELDS if name in fields and fields[name] != getattr(club, name)
    ]
    for name in changed:
        setattr(club, name, fields[name])
    _check_club(club)
    if changed:
        club.save(update_fields=[*changed, "updated_at"])
        audit.record(actor, "people.club_changed", club, club_id=club.pk, fields=changed)
    if "zone" in changed:
        zone_changed.send(sender=Club, club=club)
    return club


@transaction.atomic
def add_season(*, actor: User, club: Club, name: str, starts_on: date, ends_on: date) -> Season:
    """Add a season. Raises DomainError "season.dates" or "season.name"."""
    access.require(actor, Action.RUN_CLUB, club)
    if ends_on <= starts_on:
        message = _("The season has to end after it starts.")
        raise DomainError("season.dates", message, field="ends_on")
    try:
        with transaction.atomic():
            season = Season.objects.create(
                club=club, name=name.strip(), starts_on=starts_on, ends_on=ends_on
            )
    except IntegrityError:
        message = _("There is a season of this name already.")
        raise DomainError("season.name", message, field="name") from None
    audit.record(actor, "people.season_added", season, club_id=club.pk)
    return season


@transaction.atomic
def add_squad(*, actor: User, season: Season, name: str) -> Squad:
    """Add a squad to a season. Raises DomainError "squad.name"."""
    access.require(actor, Action.RUN_CLUB, season.club)
    if not name.strip():
        raise DomainError("squad.name", _("Please give it a name."), field="name")
    try:
        with transaction.atomic():
            squad = Squad.objects.create(season=season, name=name.strip())
    except IntegrityError:
        message = _("There is one of this name in the season already.")
        raise DomainError("squad.name", message, field="name") from None
    audit.record(actor, "people.squad_added", squad, club_id=season.club_id)
    return squad


@transaction.atomic
def end_membership(*, actor: User, membership: Membership) -> Membership:
    """End a role as of now, and the phones that joined by codes which it allowed.

    Raises DomainError "staff.last_director" for the last director.
    """
    access.require(actor, Action.RUN_CLUB, membership.club)
    if membership.role == Role.DIRECTOR:
        directors = membership.club.memberships.current().filter(role=Role.DIRECTOR)
        if not directors.exclude(user=membership.user_id).exists():
            message = _("A club needs a director: invite another one first.")
            raise DomainError("staff.last_director", message)
    membership.until = today() - timedelta(days=1)
    membership.save(update_fields=["until", "updated_at"])
    audit.record(actor, "people.role_ended", membership, club_id=membership.club_id)
    end_phones_shown_by(actor=actor, user=membership.user)
    return membership
