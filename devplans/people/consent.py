"""What services ask before they touch film of a player."""

from collections.abc import Iterable
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action, Role
from devplans.people.models import Consent, Player, User


def given(player: Player, kind: str) -> bool:
    """Does a valid consent of `kind` stand for `player` today?"""
    return Consent.objects.valid().filter(player=player, kind=kind).exists()


def given_for(players: Iterable[Player], kind: str) -> set[UUID]:
    """The ids of those `players` for whom a valid consent of `kind` stands."""
    found = Consent.objects.valid().filter(player__in=list(players), kind=kind)
    return set(found.values_list("player_id", flat=True))


def require(player: Player, kind: str) -> None:
    """Raise DomainError "consent.missing" unless the consent stands."""
    if not given(player, kind):
        message = _(
            "There is no valid consent for %(name)s: ask the guardian, "
            "or a director records it from paper."
        )
        raise DomainError("consent.missing", message % {"name": player.full_name}, field="players")


def require_giver(actor: User, player: Player) -> None:
    """Raise PermissionDenied unless `actor` may give and withdraw the consents of `player`."""
    access.require(actor, Action.GIVE_CONSENT, player)
    if not may_give(actor, player):
        raise PermissionDenied("the consent is not this person's to give")


def may_give(actor: User, player: Player) -> bool:
    """Is the consent for `player` this person's to give: a minor's guardian, an adult himself?"""
    role = Role.GUARDIAN if player.is_minor() else Role.PLAYER
    return Player.objects.for_role(actor, role).filter(pk=player.pk).exists()
