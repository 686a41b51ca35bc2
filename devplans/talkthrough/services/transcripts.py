"""A talk that comes as a transcript: read, kept line by line, and understood."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit, leases
from devplans.core.errors import DomainError
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action
from devplans.talkthrough import offsets
from devplans.talkthrough.captions import Transcript
from devplans.talkthrough.models import TalkLine, TalkThrough
from devplans.talkthrough.services.understanding import suggest_safely

# So many cues are understood while the coach waits; more of them in the background.
AT_ONCE = 1_200
MOST_LINES = 20_000
MOST_ATTEMPTS = 3
Kind, State = TalkThrough.Kind, TalkThrough.State


class Lease(leases.Lease):
    model, state, lasts = TalkThrough, State.WRITING, timedelta(minutes=20)


@transaction.atomic
def add_transcript(
    *, actor: Any, film: Film, transcript: Transcript, offset_ms: int = 0, file_name: str = ""
) -> TalkThrough:
    """Keep a transcript as a talk of `actor` over `film`, which waits to be understood.

    offset_ms: film time is the transcript's time plus this. Raises PermissionDenied, and
    DomainError "transcript.empty", "transcript.long", "transcript.outside" or "film.failed".
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    if film.state == Film.State.FAILED:
        raise DomainError("film.failed", _("This film could not be read."))
    cues = transcript.cues
    if not cues:
        raise DomainError("transcript.empty", _("There are no words with times in it."))
    if len(cues) > MOST_LINES:
        message = _("This has %(count)s lines; 20,000 are the most. Cut it into parts.")
        raise DomainError("transcript.long", message % {"count": len(cues)})
    if not offsets.inside(cues, film.duration_ms, offset_ms):
        message = _("All of it lies outside of the film: look at where its 0:00 is.")
        raise DomainError("transcript.outside", message, field="offset")
    talk = TalkThrough.objects.create(
        film=film,
        coach=actor,
        kind=Kind.TRANSCRIPT,
        state=State.WAITING,
        file_name=file_name[:200],
        offset_ms=offset_ms,
        faults=[{"line": fault.line, "why": fault.why} for fault in transcript.faults],
    )
    lines = [
        TalkLine(
            talk=talk,
            place=place,
            start_ms=cue.start_ms,
            end_ms=max(cue.start_ms, cue.end_ms),
            film_start_ms=max(0, cue.start_ms + offset_ms),
            film_end_ms=max(0, cue.end_ms + offset_ms),
            text=cue.text,
        )
        for place, cue in enumerate(cues)
    ]
    TalkLine.objects.bulk_create(lines, batch_size=500)
    audit.record(
        actor, "talkthrough.transcript_added", talk, club_id=film.squad.season.club_id,
        count=len(lines),
    )  # fmt: skip
    return talk


def _is_big(talk: TalkThrough) -> bool:
    return talk.lines.count() > AT_ONCE


def understand_now(*, talk_id: UUID) -> bool:
    """Understand a transcript that waits; True if this call did. Whoever holds its lease does it; a
    killed one's runs out, and after three of them the talk has failed. What breaks unforeseen is a
    failure at once, which its coach may try again."""
    lease = Lease.claim(
        TalkThrough.objects.claimable_transcripts(timezone.now()), talk_id, progress=0.1
    )
    if lease is None:
        return False
    try:
        talk = TalkThrough.objects.get(pk=talk_id)
        problem = _("This could not be understood: try it in smaller parts.")
        if talk.attempts <= MOST_ATTEMPTS:
            problem = suggest_safely(talk=talk)
        state = State.FAILED if problem else State.READY
        progress = 0 if problem else 1
        lease.end(state=state, progress=progress, problem=problem[:300], attempts=0)
    except (TalkThrough.DoesNotExist, leases.LeaseLost):
        return False
    return not problem


def understand_waiting(*, now: Any = None) -> int:
    """Understand transcripts whose task was lost; how many."""
    found = TalkThrough.objects.claimable_transcripts(now or timezone.now())
    keys = list(found.values_list("pk", flat=True)[:5])
    return sum(understand_now(talk_id=key) for key in keys)


def begin(*, talk: TalkThrough) -> None:
    """Understand it now where that takes seconds, else ring for the worker."""
    from devplans.talkthrough import tasks

    if _is_big(talk):
        tasks.understand.delay_on_commit(str(talk.pk))
    else:
        understand_now(talk_id=talk.pk)
