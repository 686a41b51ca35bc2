import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.mail import queue_message
from devplans.people import access
from devplans.people.access import Action
from devplans.people.checks import clean_address
from devplans.people.consent import may_give
from devplans.people.links import claim_invitation, hash_of, issue, open_invitation
from devplans.people.models import (
    Club,
    Consent,
    Guardianship,
    Invitation,
    Membership,
    Player,
    Squad,
    User,
)
from devplans.people.services.accounts import NewAccount, make_account
from devplans.people.services.consents import give_consent

Kind = Invitation.Kind
INVITATIONS_AN_HOUR = 500
MAILS_A_DAY_PER_ADDRESS = 10
SECONDS_BETWEEN_MAILS = 60

RIGHTS = {
    Kind.DIRECTOR: Action.RUN_CLUB,
    Kind.WELFARE: Action.RUN_CLUB,
    Kind.COACH: Action.INVITE,
    Kind.PLAYER: Action.INVITE,
    Kind.GUARDIAN: Action.INVITE,
}
STAFF_KINDS = (Kind.DIRECTOR, Kind.WELFARE, Kind.COACH)


@transaction.atomic
def invite(
    *,
    actor: User,
    kind: str,
    email: str,
    name: str = "",
    club: Club | None = None,
    squad: Squad | None = None,
    player: Player | None = None,
) -> Invitation:
    """Invite somebody by mail: single use, good for `settings.INVITATION_DAYS` days.

    Directors and welfare officers belong to `club`, coaches to `squad`, players and guardians to
    `player`. Raises PermissionDenied, and DomainError "invitation.…" where there is nothing to
    accept any more, or where too many were sent.
    """
    anchor = _anchor(kind, club, squad, player)
    access.require(actor, RIGHTS[Kind(kind)], anchor)
    email = clean_address(email)
    home = anchor if isinstance(anchor, Club) else anchor.club
    places = {"club": home, "squad": squad if kind == Kind.COACH else None}
    places["player"] = player if kind in {Kind.PLAYER, Kind.GUARDIAN} else None
    _check_wanted(kind, email, places)
    _check_pace(actor, home, email)
    row, token = issue(kind=kind, email=email, name=name.strip(), invited_by=actor, **places)
    _send(row, token)
    audit.record(actor, "people.invited", row, club_id=home.pk, player_id=row.player_id, kind=kind)
    return row


def _anchor(
    kind: str, club: Club | None, squad: Squad | None, player: Player | None
) -> Club | Squad | Player:
    anchors = {Kind.COACH: squad, Kind.PLAYER: player, Kind.GUARDIAN: player}
    anchor = anchors.get(Kind(kind), club)
    if anchor is None:
        raise ValueError(f"an invitation of kind {kind} needs its club, squad or player")
    return anchor


def _check_wanted(kind: str, email: str, places: dict[str, Any]) -> None:
    player = places["player"]
    if kind == Kind.PLAYER and player.user and player.user.email:
        message = _("This player has an account already.")
        raise DomainError("invitation.joined", message, field="email")
    if kind == Kind.GUARDIAN and not player.is_minor():
        message = _("This player is an adult and answers for himself or herself.")
        raise DomainError("invitation.adult", message)
    user = User.objects.filter(email=email).first()
    if user and _has_joined(kind, user, places):
        message = _("This person is here already.")
        raise DomainError("invitation.joined", message, field="email")
    if Invitation.objects.open().filter(kind=kind, email=email, **places).exists():
        message = _("An invitation to this address is open. You can send it again from the list.")
        raise DomainError("invitation.open", message, field="email")


def _has_joined(kind: str, user: User, places: dict[str, Any]) -> bool:
    if kind == Kind.GUARDIAN:
        return user.guardianships.current().filter(player=places["player"]).exists()
    if kind in STAFF_KINDS:
        rows = user.memberships.current().filter(role=kind, club=places["club"])
        return rows.filter(squad=places["squad"]).exists()
    return False


def _check_pace(actor: User, club: Club, email: str) -> None:
    now = timezone.now()
    mine = Invitation.objects.filter(invited_by=actor, created_at__gt=now - timedelta(hours=1))
    if mine.count() >= INVITATIONS_AN_HOUR:
        message = _("That were very many invitations within an hour. Please wait a little.")
        raise DomainError("invitation.too_many", message)
    same = Invitation.objects.filter(club=club, email=email, created_at__gt=now - timedelta(days=1))
    if same.count() >= MAILS_A_DAY_PER_ADDRESS:
        message = _("This address got many invitations today. Please wait until tomorrow.")
        raise DomainError("invitation.too_many", message, field="email")


def _send(invitation: Invitation, token: str) -> None:
    context = {
        "invitation": invitation,
        "url": f"{settings.PUBLIC_URL}/people/join/{token}/",
        "days": settings.INVITATION_DAYS,
    }
    subject = _("Your invitation to %(club)s") % {"club": invitation.club.name}
    queue_message(
        key=f"invitation:{invitation.pk}:{invitation.token_hash[:16]}",
        kind="invitation",
        address=invitation.email,
        recipient=User.objects.filter(email=invitation.email).first(),
        subject=subject,
        text=render_to_string("people/email/invitation.txt", context),
        html=render_to_string("people/email/invitation.html", context),
        club_id=invitation.club_id,
        player_id=invitation.player_id,
    )


def _require_inviter(actor: User, invitation: Invitation) -> None:
    anchor = invitation.player or invitation.squad or invitation.club
    access.require(actor, RIGHTS[Kind(invitation.kind)], anchor)


@transaction.atomic
def resend_invitation(*, actor: User, invitation: Invitation) -> Invitation:
    """Send an unanswered invitation again with a new link; the old link stops working.

    Raises DomainError "invitation.closed" or "invitation.too_soon".
    """
    _require_inviter(actor, invitation)
    if invitation.accepted_at or invitation.revoked_at:
        raise DomainError("invitation.closed", _("This invitation is closed."))
    if (timezone.now() - invitation.updated_at).total_seconds() < SECONDS_BETWEEN_MAILS:
        message = _("This invitation was sent a moment ago. Please wait a minute.")
        raise DomainError("invitation.too_soon", message)
    token = secrets.token_urlsafe(32)
    invitation.token_hash = hash_of(token)
    invitation.expires_at = timezone.now() + timedelta(days=settings.INVITATION_DAYS)
    invitation.save(update_fields=["token_hash", "expires_at", "updated_at"])
    _send(invitation, token)
    audit.record(actor, "people.invitation_resent", invitation, club_id=invitation.club_id)
    return invitation


@transaction.atomic
def revoke_invitation(*, actor: User, invitation: Invitation) -> Invitation:
    """Take an unanswered invitation back. Raises DomainError "invitation.closed"."""
    _require_inviter(actor, invitation)
    if invitation.accepted_at or invitation.revoked_at:
        raise DomainError("invitation.closed", _("This invitation is closed."))
    invitation.revoked_at = timezone.now()
    invitation.save(update_fields=["revoked_at", "updated_at"])
    audit.record(actor, "people.invitation_revoked", invitation, club_id=invitation.club_id)
    return invitation


@transaction.atomic
def accept_invitation(
    *, actor: User, token: str, consents: Iterable[str] = (), relationship: str = ""
) -> Invitation:
    """Accept with the account that is signed in, which must have the invited address.

    consents: kinds that the person ticked; written only where they are his to give.
    Raises DomainError "invitation.address" for another person's invitation, and the others.
    """
    invitation = claim_invitation(token)
    if (actor.email or "").lower() != invitation.email:
        message = _("This invitation was sent to another address than the one of your account.")
        raise DomainError("invitation.address", message)
    _join(invitation, actor, relationship)
    invitation.accepted_by = actor
    invitation.save(update_fields=["accepted_by", "updated_at"])
    audit.record(
        actor,
        "people.invitation_accepted",
        invitation,
        club_id=invitation.club_id,
        player_id=invitation.player_id,
    )
    for kind in consents:
        if invitation.player and may_give(actor, invitation.player):
            give_consent(actor=actor, player=invitation.player, kind=Consent.Kind(kind))
    return invitation


@transaction.atomic
def join_with_new_account(
    *,
    token: str,
    first_name: str,
    last_name: str = "",
    password: str = "",
    consents: Iterable[str] = (),
    relationship: str = "",
) -> User:
    """Make an account for the invited address and accept with it.

    There is no actor: whoever holds the link has read the mail at that address.
    Raises DomainError "email.taken" where that address has an account: sign in first.
    """
    invitation = open_invitation(token)
    account = NewAccount(invitation.email, first_name, last_name, password)
    user = make_account(account=account, user=_on_phones_only(invitation))
    accept_invitation(actor=user, token=token, consents=consents, relationship=relationship)
    return user


def _on_phones_only(invitation: Invitation) -> User | None:
    """The account of a player who has signed in by codes so far: he keeps it, and his phones."""
    user = invitation.player.user if invitation.kind == Kind.PLAYER else None
    return user if user and not user.email else None


def _join(invitation: Invitation, user: User, relationship: str) -> None:
    if invitation.kind == Kind.PLAYER:
        _join_as_player(invitation.player, user)
    elif invitation.kind == Kind.GUARDIAN:
        _join_as_guardian(invitation.player, user, relationship)
    elif not _has_joined(
        invitation.kind, user, {"club": invitation.club, "squad": invitation.squad}
    ):
        Membership.objects.create(
            user=user, club=invitation.club, squad=invitation.squad, role=invitation.kind
        )


def _join_as_player(player: Player, user: User) -> None:
    if player.user_id == user.pk:
        return
    if player.user_id or Player.objects.filter(club=player.club_id, user=user).exists():
        message = _("This player, or your account, is linked already. Ask a coach to look at it.")
        raise DomainError("invitation.joined", message)
    if player.guardianships.current().filter(user=user).exists():
        message = _("You are a guardian of this player: he or she needs an address of their own.")
        raise DomainError("invitation.guardian", message)
    player.user = user
    player.save(update_fields=["user", "updated_at"])


def _join_as_guardian(player: Player, user: User, relationship: str) -> None:
    if player.user_id == user.pk:
        message = _("Nobody can be the guardian of himself or herself.")
        raise DomainError("invitation.guardian", message)
    if not player.guardianships.current().filter(user=user).exists():
        Guardianship.objects.create(user=user, player=player, relationship=relationship.strip())
