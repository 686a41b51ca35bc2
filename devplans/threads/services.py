from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.threads.members import members_of
from devplans.threads.models import Reply, Thread

LONGEST_REPLY = 2_000


def _require_member(actor: Any, thread: Thread) -> bool:
    """Raise PermissionDenied unless `actor` is on the thread; True for a coach."""
    if access.allows(actor, Action.ANSWER, thread.player):
        return False
    if access.allows(actor, Action.COACH_SQUAD, thread.squad):
        return True
    raise PermissionDenied("only the people on a thread write in it")


@transaction.atomic
def post_reply(*, actor: Any, thread: Thread, text: str, is_question: bool = False) -> Reply:
    """Write into a thread; a coach's words answer the questions that are open.

    Raises PermissionDenied, and DomainError "reply.empty", "reply.long" or "thread.one_adult".
    """
    is_coach = _require_member(actor, thread)
    text = text.strip()
    if not text:
        raise DomainError("reply.empty", _("Write something first."), field="text")
    if len(text) > LONGEST_REPLY:
        raise DomainError("reply.long", _("Keep it under 2,000 characters."), field="text")
    if not members_of(thread).is_safe:
        message = _(
            "Nobody else is on this thread at the moment, so nothing can be written: a guardian, "
            "or a welfare officer or director of the club, has to be there first."
        )
        raise DomainError("thread.one_adult", message)
    reply = Reply.objects.create(
        thread=thread, author=actor, text=text, is_question=is_question and not is_coach
    )
    if is_coach:
        open_questions = thread.replies.filter(is_question=True, answered_at=None)
        open_questions.update(answered_at=timezone.now())
    audit.record(
        actor, "threads.reply_posted", reply, club_id=thread.club_id, player_id=thread.player_id
    )
    return reply
