"""How names are heard in a squad: learned from corrections, added and deleted by its coaches."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.talkthrough.everyday import is_everyday
from devplans.talkthrough.lessons import LONGEST, plain
from devplans.talkthrough.models import Alias
from devplans.talkthrough.roster import names_of
from devplans.talkthrough.understand.parts import RosterPlayer


def set_alias(*, actor: Any, squad: Squad, player_id: UUID | str, heard: str) -> Alias | None:
    """Write it down, whoever had the words before; what they were then (None: nobody's)."""
    was = Alias.objects.of_squad(squad).filter(heard=heard).first()
    Alias.objects.update_or_create(
        squad=squad, heard=heard, defaults={"player_id": player_id, "coach": actor}
    )
    return was


@transaction.atomic
def learn(*, actor: Any, squad: Squad, player: Player, heard: str, sure: bool = False) -> Alias:
    """From now on `heard` means `player` in this squad; the newest word counts.

    sure: the coach was asked and said yes to an everyday word.
    Raises PermissionDenied, and DomainError "alias.empty", "alias.long", "alias.number",
    "alias.name" (it is another player's name), "alias.everyday" or "alias.player".
    """
    access.require(actor, Action.COACH_SQUAD, squad)
    words = plain(heard)
    require_spelling(actor=actor, squad=squad, player=player, words=words, sure=sure)
    set_alias(actor=actor, squad=squad, player_id=player.pk, heard=words)
    alias = Alias.objects.of_squad(squad).get(heard=words)
    audit.record(
        actor, "talkthrough.alias_learned", alias, club_id=squad.season.club_id,
        player_id=player.pk,
    )  # fmt: skip
    return alias


def require_spelling(*, actor: Any, squad: Squad, player: Player, words: str, sure: bool) -> None:
    """Raise PermissionDenied, or DomainError unless these folded words may stand for the player."""
    access.require(actor, Action.COACH_SQUAD, squad)
    if len(words) < 2:
        raise DomainError("alias.empty", _("Write what was heard."), field="heard")
    if len(words) > LONGEST:
        raise DomainError("alias.long", _("Keep it under 60 characters."), field="heard")
    if words.lstrip("#").isdecimal():
        message = _("A number is not a spelling: numbers are found by themselves.")
        raise DomainError("alias.number", message, field="heard")
    places = squad.squadplayers.select_related("player")
    players = {place.player for place in places}
    if player not in players:
        raise DomainError("alias.player", _("Pick a player of this squad."), field="player")
    for other in players - {player}:
        if words in names_of(RosterPlayer("", "", other.first_name, other.last_name)):
            message = _("That is the name of %(name)s.") % {"name": other.full_name}
            raise DomainError("alias.name", message, field="heard")
    if is_everyday(words) and not sure:
        message = _("“%(words)s” is a word that everybody says. Does it mean %(name)s each time?")
        told = message % {"words": words, "name": player.first_name}
        raise DomainError("alias.everyday", told, field="sure")


@transaction.atomic
def forget(*, actor: Any, alias: Alias) -> None:
    """The words mean nobody any more. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, alias.squad)
    club_id = alias.squad.season.club_id
    audit.record(
        actor, "talkthrough.alias_forgotten", alias, club_id=club_id, player_id=alias.player_id
    )
    alias.delete()
