"""What stands behind a calendar's secret address."""

import hashlib
from typing import Any

from devplans.goals.models import FeedToken
from devplans.people import access, lookups
from devplans.people.access import Action
from devplans.people.models import Player, Squad


def hash_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def right_to(subject: Player | Squad) -> Action:
    """What one needs to have the dates of a player or of a squad in a calendar."""
    return Action.FOLLOW_PLAYER if isinstance(subject, Player) else Action.COACH_SQUAD


def open_feed(secret: str) -> FeedToken | None:
    """The address with this secret, while its owner still has the right to what it shows."""
    token = FeedToken.objects.behind(hash_of(secret))
    if token is None:
        return None
    subject: Any = token.player or token.squad
    # A last day that was set ahead ends it as leaving does.
    if token.player and not lookups.squads_of(token.player):
        return None
    return token if access.allows(token.user, right_to(subject), subject) else None
