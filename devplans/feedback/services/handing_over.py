from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback.models import Comment
from devplans.feedback.services.drafts import require_open_draft
from devplans.film.models import Film
from devplans.people import access, lookups
from devplans.people.access import Action


@transaction.atomic
def hand_over(*, actor: Any, comment: Comment) -> Comment:
    """Give a draft to the squad's other coaches: they see it, may change it, and send it.

    It keeps its author, who can take it back until it is sent. Raises PermissionDenied, and
    DomainError "comment.sent" or "handing.alone".
    """
    require_open_draft(actor=actor, comment=comment)
    if comment.author_id != actor.pk:
        raise PermissionDenied("only its author hands a draft over")
    _require_another(actor, comment.film)
    if comment.handed_over_at is None:
        _give(actor, comment)
    return comment


@transaction.atomic
def hand_over_film(*, actor: Any, film: Film) -> list[Comment]:
    """Hand over every draft that the actor has on a film; those that were handed over now.

    Raises PermissionDenied, and DomainError "handing.alone" or "handing.nothing".
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    _require_another(actor, film)
    mine = Comment.objects.select_for_update(of=("self",)).drafts().of_film(film)
    drafts = list(mine.filter(author=actor, handed_over_at=None))
    if not drafts:
        raise DomainError("handing.nothing", _("You have no drafts on this film."))
    for comment in drafts:
        _give(actor, comment)
    return drafts


@transaction.atomic
def return_draft(*, actor: Any, comment: Comment) -> Comment:
    """Undo the handing over: the draft is its author's alone again, whichever coach asks for it.

    Raises PermissionDenied, and DomainError "comment.sent".
    """
    require_open_draft(actor=actor, comment=comment)
    if comment.handed_over_at is not None:
        comment.handed_over_at = None
        comment.save(update_fields=["handed_over_at", "updated_at"])
        club_id = comment.film.squad.season.club_id
        audit.record(actor, "feedback.draft_returned", comment, club_id=club_id)
    return comment


def _give(actor: Any, comment: Comment) -> None:
    comment.handed_over_at = timezone.now()
    comment.save(update_fields=["handed_over_at", "updated_at"])
    club_id = comment.film.squad.season.club_id
    audit.record(actor, "feedback.draft_handed_over", comment, club_id=club_id)


def _require_another(actor: Any, film: Film) -> None:
    if all(coach.pk == actor.pk for coach in lookups.coaches_of(film.squad)):
        message = _("You are the only coach of this squad: there is nobody to hand over to.")
        raise DomainError("handing.alone", message)
