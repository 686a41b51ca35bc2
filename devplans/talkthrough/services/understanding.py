"""From the words of a talk to suggestions."""

import logging
from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.film.faults import gettext_noop
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.owned import require_own
from devplans.talkthrough.spoken import Spoken, of
from devplans.talkthrough.writer import OUTSIDE, Writer, understood

log = logging.getLogger(__name__)
NOT_UNDERSTOOD = gettext_noop(
    "Something went wrong while your words were turned into suggestions. The words are kept: try "
    "again; if this stays, tell the person who runs the portal."
)
# So much of a new suggestion may already be one that the coach has in hand.
SHARED = 0.5


def suggest(*, talk: TalkThrough) -> int:
    """Turn the written lines of `talk` into suggestions; how many there are now.

    What a coach has accepted, dropped or changed stays as it is; only open suggestions that nobody
    touched are made anew. Safe to run twice, also at the same time.
    """
    talk = TalkThrough.objects.with_film().get(pk=talk.pk)
    spoken = of(talk)
    found = understood(talk, spoken.cues())
    with transaction.atomic():
        locked = TalkThrough.objects.select_for_update(of=("self",)).get(pk=talk.pk)
        mine = Suggestion.objects.of_talk(talk)
        mine.untouched().delete()
        kept = [_spoken_span(spoken, one) for one in mine]
        writer = Writer(talk, spoken)
        outside = []
        for one in found.suggestions:
            if _is_taken(one.start_ms, one.end_ms, kept):
                continue
            if writer.is_outside(one):
                outside.append(_left(spoken, one.start_ms, one.said, OUTSIDE))
            else:
                writer.write(one)
        left = [
            _left(spoken, one.start_ms, one.said, one.why)
            for one in found.left_out
            if not _is_taken(one.start_ms, one.start_ms + 1, kept)
        ]
        locked.left_out = sorted(left + outside, key=lambda one: one["spoken_ms"])
        locked.understood_at = timezone.now()
        fields = ["left_out", "understood_at", "updated_at"]
        if locked.finished_at is not None and mine.open().exists():
            locked.finished_at = None
            fields.append("finished_at")
        locked.save(update_fields=fields)
        return mine.shown().count()


def suggest_safely(*, talk: TalkThrough) -> str:
    """`suggest`, and what the talk's problem is then: "" unless something unforeseen broke, which
    is logged. Nothing has been written in that case. Raises TalkThrough.DoesNotExist."""
    try:
        suggest(talk=talk)
    except TalkThrough.DoesNotExist:
        raise
    except Exception:
        log.exception("talk %s: could not be understood", talk.pk)
        return _(NOT_UNDERSTOOD)
    return ""


def read_again(*, actor: Any, talk: TalkThrough) -> int:
    """Understand the talk once more, with what was learned meanwhile; how many suggestions there
    are. Raises PermissionDenied, and DomainError "talk.not_ready" or "talk.not_understood"."""
    require_own(actor=actor, talk=talk)
    if talk.state != TalkThrough.State.READY:
        raise DomainError("talk.not_ready", _("It is not written down yet."))
    if problem := suggest_safely(talk=talk):
        raise DomainError("talk.not_understood", problem)
    return Suggestion.objects.of_talk(talk).shown().count()


def _spoken_span(spoken: Spoken, one: Suggestion) -> tuple[int, int]:
    part = spoken.part_of(one.take_id)
    base = part.base_ms if part else 0
    return base + one.sound_start_ms, base + max(one.sound_end_ms, one.sound_start_ms + 1)


def _is_taken(start_ms: int, end_ms: int, kept: Iterable[tuple[int, int]]) -> bool:
    length = max(1, end_ms - start_ms)
    shared = (min(end_ms, last) - max(start_ms, first) for first, last in kept)
    return any(ms >= SHARED * length for ms in shared)


def _left(spoken: Spoken, start_ms: int, said: str, why: str) -> dict[str, Any]:
    span = spoken.film_span(start_ms, start_ms)
    return {
        "id": uuid4().hex,
        "start_ms": max(0, span.start_ms),
        "spoken_ms": start_ms,
        "said": said,
        "why": why,
    }
