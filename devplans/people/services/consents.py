from datetime import date

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit, outbox
from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.checks import year_after
from devplans.people.consent import require_giver
from devplans.people.models import Consent, Player, User


@transaction.atomic
def give_consent(*, actor: User, player: Player, kind: str) -> Consent:
    """Consent for a year from today: by a guardian of a minor, or by an adult player himself.

    kind: a `Consent.Kind`. Giving it again renews it; the older rows stay as they were.
    Raises PermissionDenied for everybody else, a minor himself included.
    """
    require_giver(actor, player)
    how = Consent.How.GUARDIAN if player.is_minor() else Consent.How.PLAYER
    consent = Consent.objects.create(
        player=player,
        kind=Consent.Kind(kind),
        how=how,
        given_by=actor,
        given_by_name=actor.full_name,
        expires_on=year_after(today()),
    )
    audit.record(
        actor,
        "people.consent_given",
        consent,
        club_id=player.club_id,
        player_id=player.pk,
        kind=str(kind),
    )
    return consent


@transaction.atomic
def record_paper_consent(
    *, actor: User, player: Player, kind: str, given_by_name: str, given_on: date
) -> Consent:
    """Write down a consent that lies on paper, with who signed it and when; it holds for a year.

    Raises DomainError "consent.name" or "consent.date".
    """
    access.require(actor, Action.RECORD_CONSENT, player)
    if not given_by_name.strip():
        message = _("Please give the name of the person who signed.")
        raise DomainError("consent.name", message, field="given_by_name")
    if given_on > today():
        message = _("That day has not come yet.")
        raise DomainError("consent.date", message, field="given_on")
    expires_on = year_after(given_on)
    if expires_on < today():
        message = _("A consent holds for a year: this one has run out. Ask for a new one.")
        raise DomainError("consent.date", message, field="given_on")
    consent = Consent.objects.create(
        player=player,
        kind=Consent.Kind(kind),
        how=Consent.How.PAPER,
        given_by_name=given_by_name.strip(),
        given_on=given_on,
        expires_on=expires_on,
        recorded_by=actor,
    )
    audit.record(
        actor,
        "people.consent_recorded",
        consent,
        club_id=player.club_id,
        player_id=player.pk,
        kind=str(kind),
    )
    return consent


@transaction.atomic
def withdraw_consent(*, actor: User, player: Player, kind: str) -> int:
    """Withdraw every valid consent of `kind` at once; a director does it for one who asks on paper.

    Pictures of the player leave the mails that are still waiting. Returns how many were withdrawn.
    """
    if not access.allows(actor, Action.RECORD_CONSENT, player):
        require_giver(actor, player)
    rows = list(Consent.objects.valid().filter(player=player, kind=kind))
    for consent in rows:
        consent.withdrawn_at = timezone.now()
        consent.withdrawn_by = actor
        consent.save(update_fields=["withdrawn_at", "withdrawn_by", "updated_at"])
        audit.record(
            actor,
            "people.consent_withdrawn",
            consent,
            club_id=player.club_id,
            player_id=player.pk,
            kind=str(kind),
        )
    outbox.drop_pictures(player_id=player.pk)
    return len(rows)
