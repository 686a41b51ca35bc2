from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback import cutting, roster, rules, wording
from devplans.feedback import drawing as drawings
from devplans.feedback.models import Comment, CommentVersion
from devplans.feedback.services.drafts import FIELDS
from devplans.feedback.voices import keeping
from devplans.people import access
from devplans.people.access import Action

WORDS = {"happened", "do_instead"}


def _require_sender(actor: Any, comment: Comment) -> None:
    access.require(actor, Action.COACH_SQUAD, comment.film.squad)
    if not comment.is_open_to(actor):
        raise PermissionDenied("only its author and its sender change a comment")
    if comment.sent_at is None:
        raise DomainError("comment.draft", _("This comment has not been sent yet."))
    if comment.withdrawn_at is not None:
        raise DomainError("comment.withdrawn", _("This comment has been taken back."))


@transaction.atomic
def correct_comment(
    *,
    actor: Any,
    comment: Comment,
    drawing: Any = None,
    drop_voice: bool = False,
    **fields: Any,
) -> Comment:
    """Change a sent comment: the old words are kept as a version, deliveries get the new ones, and
    the clip is cut again where the times or the drawing changed, or the voice goes.

    fields: any of FIELDS; drawing: shapes, None leaves it as it is; drop_voice: the coach's voice
    is taken away for good. Nothing changed, nothing written. Raises PermissionDenied, DomainError.
    """
    _require_sender(actor, comment)
    old = {name: getattr(comment, name) for name in FIELDS}
    new = old | {name: fields[name] for name in FIELDS if name in fields}
    new |= {name: new[name].strip() for name in WORDS}
    shapes = drawings.shapes_of(comment)
    drawn = shapes if drawing is None else drawings.checked(drawing)
    is_redrawn = drawn != shapes
    is_silenced = drop_voice and keeping.voice_of(comment) is not None
    if new == old and not is_redrawn and not is_silenced:
        return comment
    for name, value in new.items():
        setattr(comment, name, value)
    rules.check_span(comment.film, comment.start_ms, comment.end_ms)
    rules.check_words(comment.happened, comment.do_instead)
    rules.check_skill(comment.film, comment.skill, kept=old["skill"])
    rules.check_sendable_words(comment)
    CommentVersion.objects.create(
        comment=comment, number=comment.version, author=actor, drawing=shapes, **old
    )
    comment.version += 1
    comment.corrected_at = timezone.now()
    comment.save(update_fields=[*FIELDS, "version", "corrected_at", "updated_at"])
    drawings.keep(comment, drawn)
    _carry_to_deliveries(comment)
    if is_silenced:
        keeping.forget(comment)
    is_moved = (old["start_ms"], old["end_ms"]) != (comment.start_ms, comment.end_ms)
    if is_redrawn or is_silenced or is_moved:
        cutting.order_clip(comment)
    audit.record(
        actor,
        "feedback.comment_corrected",
        comment,
        club_id=comment.film.squad.season.club_id,
        version=comment.version,
    )
    return comment


def _carry_to_deliveries(comment: Comment) -> None:
    deliveries = list(comment.deliveries.select_related("player"))
    players = [delivery.player for delivery in deliveries]
    entries = wording.entries_by_player(roster.roster(comment.film, extra=players))
    for delivery in deliveries:
        words = wording.words_for(comment, delivery.player, players, entries)
        delivery.happened, delivery.do_instead = words
        delivery.version = comment.version
        delivery.save(update_fields=["happened", "do_instead", "version"])


@transaction.atomic
def take_back(*, actor: Any, comment: Comment) -> Comment:
    """Take a sent comment back: families see that it was, but no words, clip or still."""
    _require_sender(actor, comment)
    comment.withdrawn_at = timezone.now()
    comment.save(update_fields=["withdrawn_at", "updated_at"])
    comment.deliveries.update(withdrawn_at=comment.withdrawn_at)
    audit.record(
        actor,
        "feedback.comment_taken_back",
        comment,
        club_id=comment.film.squad.season.club_id,
    )
    return comment
