"""What services ask before they touch film of a player."""

from collections.abc import Iterable
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.people.models import Consent, Player


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
