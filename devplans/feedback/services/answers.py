from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback import naming, notices, roster
from devplans.feedback.models import Delivery
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.threads import services as threads
from devplans.threads.models import Reply


def _require_standing(delivery: Delivery) -> None:
    if delivery.withdrawn_at is not None:
        raise DomainError("delivery.withdrawn", _("The coach has taken this comment back."))


@transaction.atomic
def mark_seen(*, actor: Any, delivery: Delivery) -> Delivery:
    """Note that a player or a guardian has opened a delivery. Only the player's own opening counts
    as seen. Raises PermissionDenied for anybody else."""
    access.require(actor, Action.ANSWER, delivery.player)
    if delivery.withdrawn_at is not None:
        return delivery
    if delivery.player.user_id == actor.pk:
        delivery.seen_at = delivery.seen_at or timezone.now()
        delivery.seen_version = delivery.version
        delivery.save(update_fields=["seen_at", "seen_version"])
    elif delivery.opened_by_guardian_at is None:
        delivery.opened_by_guardian_at = timezone.now()
        delivery.save(update_fields=["opened_by_guardian_at"])
    return delivery


@transaction.atomic
def say_understood(*, actor: Any, delivery: Delivery) -> Delivery:
    """The player's "I see it"; for a child without an account a guardian says it.

    Raises PermissionDenied, and DomainError "delivery.withdrawn".
    """
    access.require(actor, Action.ANSWER, delivery.player)
    if delivery.player.user_id not in {None, actor.pk}:
        raise PermissionDenied("only the player says that he sees it")
    _require_standing(delivery)
    mark_seen(actor=actor, delivery=delivery)
    if delivery.understood_at is None:
        delivery.understood_at = timezone.now()
        delivery.save(update_fields=["understood_at"])
        audit.record(
            actor,
            "feedback.understood",
            delivery,
            club_id=delivery.thread.club_id,
            player_id=delivery.player_id,
        )
    return delivery


@transaction.atomic
def ask(*, actor: Any, delivery: Delivery, text: str) -> Reply:
    """A question of the player or a guardian; the coach is told by mail.

    Raises PermissionDenied, and DomainError "reply.empty", "delivery.withdrawn" and others.
    """
    access.require(actor, Action.ANSWER, delivery.player)
    _require_standing(delivery)
    question = threads.post_reply(actor=actor, thread=delivery.thread, text=text, is_question=True)
    notices.queue_question(delivery, question)
    return question


@transaction.atomic
def reply(*, actor: Any, delivery: Delivery, text: str) -> Reply:
    """Write into the thread; the others on it are told by mail.

    A coach's words may name no other player: DomainError "reply.names_player" says what to write
    instead. Raises PermissionDenied too.
    """
    require_may_write(actor=actor, delivery=delivery)
    if not access.allows(actor, Action.ANSWER, delivery.player):
        _require_no_names(delivery, text)
    answer = threads.post_reply(actor=actor, thread=delivery.thread, text=text)
    notices.queue_reply(delivery, answer)
    return answer


def _require_no_names(delivery: Delivery, text: str) -> None:
    film = delivery.comment.film
    addressed = list(delivery.comment.players.all())
    entries = roster.roster(film, extra=addressed)
    others = roster.named_except(entries, delivery.player_id)
    found = naming.find(text, others, careful=True)
    if not found:
        return
    message = _("“%(name)s” is another player: this goes to one family only. Write: %(words)s") % {
        "name": found[0].words,
        "words": naming.mask(text, others, careful=True),
    }
    raise DomainError("reply.names_player", message, field="text")


def require_may_write(*, actor: Any, delivery: Delivery) -> None:
    """Raise PermissionDenied unless `actor` is on the thread."""
    if not access.allows(actor, Action.ANSWER, delivery.player):
        access.require(actor, Action.COACH_SQUAD, delivery.thread.squad)


@transaction.atomic
def note_reading(*, actor: Any, delivery: Delivery) -> None:
    """Audit that a director or welfare officer, who is not on the thread, read a delivery."""
    on_it = access.allows(actor, Action.ANSWER, delivery.player)
    if not on_it and not access.allows(actor, Action.COACH_SQUAD, delivery.thread.squad):
        audit.record(
            actor,
            "feedback.delivery_read",
            delivery,
            club_id=delivery.thread.club_id,
            player_id=delivery.player_id,
        )


@transaction.atomic
def note_list_reading(*, actor: Any, player: Player) -> None:
    """The same for the list of what a player was sent."""
    on_it = access.allows(actor, Action.ANSWER, player)
    if not on_it and not access.allows(actor, Action.COACH_PLAYER, player):
        audit.record(
            actor,
            "feedback.deliveries_read",
            player,
            club_id=player.club_id,
            player_id=player.pk,
        )
