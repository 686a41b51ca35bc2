"""Trying a talk again that has failed."""

from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.talkthrough.models import TalkThrough
from devplans.talkthrough.owned import require_own, wait_for_words
from devplans.talkthrough.services import transcripts

State, Kind = TalkThrough.State, TalkThrough.Kind


def try_again(*, actor: Any, talk: TalkThrough) -> None:
    """Write a failed talk down, or understand it, once more; what was written down is kept.

    Raises PermissionDenied, and DomainError "talk.no_retry" where it did not fail, or neither
    words nor sound of it are here.
    """
    require_own(actor=actor, talk=talk)
    with transaction.atomic():
        rows = TalkThrough.objects.select_for_update(of=("self",)).worth_another_try()
        held = rows.filter(pk=talk.pk).first()
        if held is None:
            raise DomainError("talk.no_retry", _("There is nothing of it to try again with."))
        held.state, held.problem, held.attempts, held.progress = State.WAITING, "", 0, 0
        held.lease_until = held.lease_token = None
        held.save()
        if held.kind != Kind.TRANSCRIPT:
            wait_for_words(held)
    if held.kind == Kind.TRANSCRIPT:
        transcripts.begin(talk=held)
