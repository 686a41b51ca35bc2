"""Calendar addresses: made, replaced and ended by the person they belong to."""

import secrets
from typing import Any

from django.db import transaction
from django.utils import timezone

from devplans.core import audit
from devplans.goals.feed.opening import hash_of, right_to
from devplans.goals.models import FeedToken
from devplans.people import access
from devplans.people.models import Player, Squad


@transaction.atomic
def issue_feed(*, actor: Any, subject: Player | Squad) -> str:
    """A new secret (256 random bits) for the actor's calendar of `subject`; kept as its hash only.

    The one before ends. A player's for himself and his guardians, a squad's for its coaches.
    """
    access.require(actor, right_to(subject), subject)
    secret = secrets.token_urlsafe(32)
    now = timezone.now()
    token, _created = FeedToken.objects.update_or_create(
        user=actor,
        **_named(subject),
        defaults={"token_hash": hash_of(secret), "issued_at": now, "ended_at": None},
    )
    _record(actor, "goals.feed_issued", token, subject)
    return secret


@transaction.atomic
def end_feed(*, actor: Any, subject: Player | Squad) -> bool:
    """End the actor's calendar of `subject`; False where there is none that runs."""
    access.require(actor, right_to(subject), subject)
    token = FeedToken.objects.of_user(actor).filter(**_named(subject)).first()
    if token is None:
        return False
    token.ended_at = timezone.now()
    token.save(update_fields=["ended_at", "updated_at"])
    _record(actor, "goals.feed_ended", token, subject)
    return True


def _named(subject: Player | Squad) -> dict[str, Any]:
    return {"player": subject} if isinstance(subject, Player) else {"squad": subject}


def _record(actor: Any, verb: str, token: FeedToken, subject: Player | Squad) -> None:
    player_id = subject.pk if isinstance(subject, Player) else None
    audit.record(actor, verb, token, club_id=subject.club.pk, player_id=player_id)
