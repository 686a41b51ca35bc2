"""Writing a recorded talk down: a row with a lease; the queue is only a doorbell.

Lines are kept as they are heard, so a page shows them while the rest is worked on, and whoever
takes a talk over goes on behind them. A long talk gives way after a minute of speech to others that
wait; a talk about one moment, at which somebody looks, waits for nobody.
"""

import logging
import tempfile
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from uuid import UUID

from django.db import transaction
from django.db.models import F, Max
from django.db.models.functions import Least
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import leases
from devplans.core.leases import LeaseLost
from devplans.feedback.voices.log import Log
from devplans.film.intake import folder_for_work
from devplans.film.storing import remove_folder
from devplans.talkthrough import speech, speech_faults
from devplans.talkthrough.joining import sound_of
from devplans.talkthrough.models import TalkLine, TalkTake, TalkThrough
from devplans.talkthrough.speech import NoSpeech, Stopped
from devplans.talkthrough.understand.parts import Cue

__all__ = ["due_ids", "write_down", "write_next"]

log = logging.getLogger(__name__)
State, Kind = TalkThrough.State, TalkThrough.Kind
# A lease runs out only where the worker is gone: while its child works, the worker keeps it up.
LEASE = timedelta(seconds=90)
KEEP_EVERY_S = 10.0
# Nothing keeps it up meanwhile.
UNDERSTANDING_LEASE = timedelta(minutes=20)
AGAIN_AFTER = timedelta(minutes=1)
MOST_ATTEMPTS = 3
TURN_MS = 60_000
# Speech takes all the power there is: more at once would be slower for each.
MOST_AT_ONCE = 2
# The last step, the suggestions, comes after the last word.
MOST_BEFORE_READY = 0.99
# Lines keep the order of takes, also where a take that was finished goes on.
PLACES_PER_TAKE = 10_000_000
FOLDER_PREFIX = "talk-work-"


class GaveWay(Exception):
    """Another talk waits; this one goes on later where it was."""


class Lease(leases.Lease):
    model, state, lasts = TalkThrough, State.WRITING, LEASE


def due_ids() -> list[UUID]:
    """Talks that may be claimed, the one whose turn it is first."""
    now = timezone.now()
    found = TalkThrough.objects.to_write_down(now).in_turn()
    keys = list(found.values_list("pk", "kind")[: 4 * MOST_AT_ONCE])
    free = MOST_AT_ONCE - TalkThrough.objects.being_written_down(now).count()
    moments = [key for key, kind in keys if kind == Kind.MOMENT]
    return moments + [key for key, kind in keys if kind != Kind.MOMENT][: max(0, free)]


def claim(talk_id: UUID) -> Lease | None:
    """Take the lease of a talk that may be claimed now; None where there is nothing to do."""
    return Lease.claim(TalkThrough.objects.to_write_down(timezone.now()), talk_id)


def write_next() -> bool:
    """Write down the talk whose turn it is, for as long as its turn lasts; True if there was one.
    Whoever waits behind it is rung for."""
    worked = any(write_down(talk_id) for talk_id in due_ids()[:1])
    if worked and (following := due_ids()[:1]):
        _ring(following[0])
    return worked


def write_down(talk_id: UUID) -> bool:
    """Write one talk down, to its end or until another one's turn; False where it is not due.

    A take whose sound cannot be read does not lose the others: the talk's problem names it.
    """
    lease = claim(talk_id)
    if lease is None:
        return False
    try:
        try:
            _work(lease)
        except GaveWay:
            lease.end(state=State.WAITING, attempts=0)
        except LeaseLost:
            raise
        except TalkThrough.DoesNotExist as error:
            raise LeaseLost from error
        except Exception:
            # Nobody shall wait for a lease that nobody works under.
            log.exception("talk %s: could not be written down", talk_id)
            _fail(lease, _(speech_faults.CRASHED))
    except LeaseLost:
        if not TalkThrough.objects.filter(pk=talk_id).exists():
            remove_folder(f"talk/{talk_id}")
    return True


def _ring(talk_id: UUID) -> None:
    from devplans.talkthrough import tasks

    tasks.write_down.delay_on_commit(str(talk_id))


def _work(lease: Lease) -> None:
    talk = TalkThrough.objects.with_film().get(pk=lease.key)
    if reason := speech.why_not():
        return _fail(lease, _(reason))
    if talk.attempts > MOST_ATTEMPTS:
        return _end(lease, talk, problem=_(speech_faults.CRASHED))
    writer = _Writer(lease, talk)
    with tempfile.TemporaryDirectory(prefix=FOLDER_PREFIX, dir=folder_for_work()) as folder:
        for take in writer.takes:
            try:
                writer.write(take, Path(folder))
            except NoSpeech as error:
                if not error.is_final and talk.attempts < MOST_ATTEMPTS:
                    return _again(lease, _(error.reason))
                writer.give_up(take, error)
            except OSError as error:
                log.exception("talk %s: storage or disk", talk.pk)
                if talk.attempts < MOST_ATTEMPTS:
                    return _again(lease, _(speech_faults.CRASHED))
                writer.give_up(take, NoSpeech(speech_faults.BROKEN, str(error)))
    return _understand(lease, talk)


def _again(lease: Lease, problem: str) -> None:
    """Something else than the sound is at fault: try again in a minute."""
    until = timezone.now() + AGAIN_AFTER
    lease.write(state=State.WAITING, lease_until=until, lease_token=None, problem=problem[:300])


def _understand(lease: Lease, talk: TalkThrough) -> None:
    from devplans.talkthrough.services.understanding import suggest_safely

    lease.write(progress=MOST_BEFORE_READY, lease_until=timezone.now() + UNDERSTANDING_LEASE)
    if talk.lines.exists() and (problem := suggest_safely(talk=talk)):
        return _fail(lease, problem)
    return _end(lease, talk)


def _fail(lease: Lease, problem: str) -> None:
    lease.end(state=State.FAILED, progress=0, problem=problem[:300], attempts=0)


def _end(lease: Lease, talk: TalkThrough, *, problem: str = "") -> None:
    """Ready, with what could be written down; failed where that is nothing but a problem."""
    problem = problem or TalkThrough.objects.values_list("problem", flat=True).get(pk=talk.pk)
    failed = bool(problem) and not talk.lines.exists()
    lease.end(
        state=State.FAILED if failed else State.READY,
        progress=0 if failed else 1,
        problem=problem[:300],
        attempts=0,
    )


class _Writer:
    """The takes of one talk, one after the other."""

    def __init__(self, lease: Lease, talk: TalkThrough) -> None:
        self._lease = lease
        self._talk = talk
        self.takes: Sequence[TalkTake] = list(talk.takes.order_by("number"))
        self._said_ms = 0
        self._gives_way = False
        if talk.problem:
            # What an attempt before ran into; parts that cannot be read are found again.
            lease.write(problem="")

    def write(self, take: TalkTake, folder: Path) -> None:
        """Hear a take from where it was heard to; raises NoSpeech, GaveWay, LeaseLost."""
        if _is_done(take):
            return
        path = sound_of(take, folder)
        if path is None:
            return self._done(take, 0)
        course = take.course

        def on_heard(cues: list[Cue], heard_ms: int, of_ms: int | None) -> None:
            self._keep(take, course, cues, heard_ms, of_ms)

        try:
            length_ms = speech.listen(
                path,
                from_ms=take.heard_ms,
                on_heard=on_heard,
                cancelled=self._is_cancelled,
                is_urgent=self._talk.kind == Kind.MOMENT,
            )
        except Stopped as error:
            raise GaveWay from error
        return self._done(take, length_ms)

    def give_up(self, take: TalkTake, error: NoSpeech) -> None:
        log.warning("talk %s, take %s: %s", self._talk.pk, take.number, error)
        problem = _(error.reason)
        if len(self.takes) > 1:
            number = self.takes.index(take) + 1
            problem = _("Part %(number)s of the recording: %(problem)s") % {
                "number": number,
                "problem": problem,
            }
        self._lease.write(problem=problem[:300])

    def _keep(
        self, take: TalkTake, course: Log, cues: list[Cue], heard_ms: int, of_ms: int | None
    ) -> None:
        before_ms = take.heard_ms
        with transaction.atomic():
            self._lease.keep(
                progress=self._share(take, heard_ms, of_ms),
                attempts=Least(F("attempts"), MOST_ATTEMPTS - 1),
            )
            place = self._next_place(take)
            TalkLine.objects.bulk_create(
                [self._line(take, course, cue, place + at) for at, cue in enumerate(cues)]
            )
            take.heard_ms = heard_ms
            take.save(update_fields=["heard_ms", "updated_at"])
        self._said_ms += heard_ms - before_ms
        if self._said_ms >= TURN_MS and self._talk.kind != Kind.MOMENT:
            waiting = TalkThrough.objects.to_write_down(timezone.now())
            self._gives_way = waiting.exclude(pk=self._talk.pk).exists()

    def _line(self, take: TalkTake, course: Log, cue: Cue, place: int) -> TalkLine:
        film_start = course.film_at(cue.start_ms)
        return TalkLine(
            talk=self._talk,
            take=take,
            place=place,
            start_ms=cue.start_ms,
            end_ms=cue.end_ms,
            film_start_ms=film_start,
            film_end_ms=max(film_start, course.film_span(cue.start_ms, cue.end_ms)[1]),
            text=cue.text,
        )

    def _next_place(self, take: TalkTake) -> int:
        last = take.lines.aggregate(last=Max("place"))["last"]
        return take.number * PLACES_PER_TAKE if last is None else last + 1

    def _share(self, take: TalkTake, heard_ms: int, of_ms: int | None) -> float:
        """How much of all takes is written down; a length nobody has said is taken from the log."""
        lengths = {one.pk: max(one.length_ms or _last_ms(one), 1) for one in self.takes}
        lengths[take.pk] = max(of_ms or lengths[take.pk], heard_ms, 1)
        before = sum(lengths[one.pk] for one in self.takes if one.number < take.number)
        return min(MOST_BEFORE_READY, (before + heard_ms) / sum(lengths.values()))

    def _done(self, take: TalkTake, length_ms: int) -> None:
        take.heard_ms = max(take.heard_ms, length_ms, take.length_ms or 0, 1)
        take.save(update_fields=["heard_ms", "updated_at"])

    def _is_cancelled(self) -> bool:
        self._lease.keep_up(KEEP_EVERY_S)
        return self._gives_way


def _is_done(take: TalkTake) -> bool:
    """An open take may have grown since."""
    return take.length_ms is not None and take.heard_ms >= max(1, take.length_ms)


def _last_ms(take: TalkTake) -> int:
    course = take.course
    return course.stretches[-1].at_ms if course.stretches else 0
