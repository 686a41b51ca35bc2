"""What a coach says is kept as it comes: a talk has takes, a take has pieces of sound and a log.

All of it may be sent twice and late: a browser keeps what it recorded until it is told that it is
here. Sound lies under talk/<talk>/<take>/<piece>; what it holds is looked at when it is written
down, in a process of its own.
"""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.db.models import Sum
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import Conflict, DomainError
from devplans.feedback.voices.log import BadLog, read_log
from devplans.film.intake import has_room
from devplans.film.models import Film
from devplans.film.storing import remove_folder
from devplans.people import access
from devplans.people.access import Action
from devplans.talkthrough.models import TalkPiece, TalkTake, TalkThrough
from devplans.talkthrough.owned import own, wait_for_words

MOST_PIECE_BYTES = 2 * 1024 * 1024
MOST_TAKES = 200
# Three hours in pieces of two seconds, and some that were cut short.
MOST_PIECES = 6_000
LONGEST_TAKE_MS = 3 * 3_600_000
# What the browsers' recorders call what they write.
MIMES = ("audio/webm", "audio/mp4", "audio/ogg")


def begin_talk(*, actor: Any, film: Film, talk_id: UUID, kind: str) -> TalkThrough:
    """Begin a talk over a film; its key is made by the browser, so that it can be sent twice.

    kind: TalkThrough.Kind WHOLE or MOMENT. Raises PermissionDenied, Conflict "talk.taken" where
    that key is a talk of somebody else's, on another film or of another kind, and DomainError
    "talk.kind".
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    if kind not in {TalkThrough.Kind.WHOLE, TalkThrough.Kind.MOMENT}:
        raise DomainError("talk.kind", _("This is no kind of talk-through."))
    first = {"film": film, "coach": actor, "kind": kind}
    try:
        with transaction.atomic():
            talk, made = TalkThrough.objects.get_or_create(id=talk_id, defaults=first)
            if made:
                club_id = film.squad.season.club_id
                audit.record(actor, "talkthrough.talk_begun", talk, club_id=club_id, kind=kind)
    except IntegrityError:
        talk = TalkThrough.objects.get(pk=talk_id)
    if (talk.film_id, talk.coach_id, talk.kind) != (film.pk, actor.pk, kind):
        raise Conflict("talk.taken", _("This key is taken."))
    return talk


@transaction.atomic
def begin_take(*, actor: Any, talk: TalkThrough, number: int, mime: str) -> TalkTake:
    """Begin a recording of one's own talk, or find it where it was begun before.

    mime: as the browser's recorder calls it. Raises PermissionDenied, and DomainError "take.mime",
    "take.number" or "talk.over".
    """
    talk = own(actor, talk)
    kind = mime.split(";")[0].strip().lower()
    if kind not in MIMES:
        raise DomainError("take.mime", _("The portal cannot read this kind of sound."))
    if number >= MOST_TAKES:
        raise DomainError("take.number", _("This talk has too many takes: begin another one."))
    take = talk.takes.filter(number=number).first()
    if take is None:
        _require_recording(talk)
        take = talk.takes.create(number=number, mime=mime[:60])
    return take


def keep_piece(*, actor: Any, take: TalkTake, number: int, content: bytes) -> TalkPiece:
    """Keep a piece of sound of one's own talk. One that is here already is kept once.

    Raises PermissionDenied, Conflict "piece.other" where a piece of another size is here, and
    DomainError "piece.empty", "piece.size", "take.long", "talk.size", "file.room" or "talk.over".
    """
    talk = own(actor, take.talk, locked=False)
    _require_piece(number, content)
    kept = take.pieces.filter(number=number).first()
    if kept is None:
        _require_recording(talk)
        _require_place(talk, len(content))
        kept = _keep(take, number, content)
    if kept.size != len(content):
        raise Conflict("piece.other", _("This piece is here already, and is another one."))
    return kept


def _require_piece(number: int, content: bytes) -> None:
    if not content:
        raise DomainError("piece.empty", _("There is no sound in this piece."))
    if len(content) > MOST_PIECE_BYTES:
        raise DomainError("piece.size", _("This piece of sound is too big."))
    if number >= MOST_PIECES:
        raise DomainError(
            "take.long", _("A take may be three hours long. Stop, and go on in another one.")
        )


def _require_place(talk: TalkThrough, size: int) -> None:
    there = TalkPiece.objects.filter(take__talk=talk).aggregate(sum=Sum("size"))["sum"] or 0
    if there + size > settings.TALK_MAX_BYTES:
        raise DomainError(
            "talk.size", _("This talk is as long as the portal takes. Stop, and begin another one.")
        )
    if not has_room(size):
        raise DomainError(
            "file.room", _("The portal has no room left for sound. Tell the person who runs it.")
        )


def _keep(take: TalkTake, number: int, content: bytes) -> TalkPiece:
    key = default_storage.save(f"talk/{take.talk_id}/{take.number}/{number}", ContentFile(content))
    try:
        with transaction.atomic():
            piece = take.pieces.create(number=number, key=key, size=len(content))
            # Says that somebody still talks: see `sweeping`.
            take.talk.save(update_fields=["updated_at"])
            return piece
    except IntegrityError:
        default_storage.delete(key)
        return take.pieces.get(number=number)
    except BaseException:
        default_storage.delete(key)
        raise


@transaction.atomic
def note_log(*, actor: Any, take: TalkTake, log: Any) -> TalkTake:
    """Keep what the film did during a take of one's own talk, in place of what was kept of it.

    log: a list in the form of `feedback.voices.log`. After the take's end it changes nothing.
    Raises PermissionDenied, and DomainError "log.bad" or "talk.over".
    """
    talk = own(actor, take.talk)
    take = talk.takes.get(pk=take.pk)
    try:
        read_log(log)
    except BadLog as error:
        raise DomainError("log.bad", _("What the film did cannot be read.")) from error
    if take.log != log and take.length_ms is None:
        _require_recording(talk)
        take.log = log
        take.save(update_fields=["log", "updated_at"])
        talk.save(update_fields=["updated_at"])
    return take


@transaction.atomic
def end_take(*, actor: Any, take: TalkTake, length_ms: int) -> TalkTake:
    """No more of this take was recorded. length_ms: of its sound, 0 to three hours.

    Raises PermissionDenied, and DomainError "take.long".
    """
    talk = own(actor, take.talk)
    take = talk.takes.get(pk=take.pk)
    if not 0 <= length_ms <= LONGEST_TAKE_MS + 60_000:
        raise DomainError("take.long", _("A take may be three hours long."))
    if take.length_ms is None:
        take.length_ms = length_ms
        take.save(update_fields=["length_ms", "updated_at"])
    return take


def drop_take(*, actor: Any, talk: TalkThrough, number: int) -> None:
    """Throw a take of one's own talk away, to say it again. One that is gone stays so.

    Raises PermissionDenied, and DomainError "talk.over".
    """
    with transaction.atomic():
        talk = own(actor, talk)
        _require_recording(talk)
        talk.takes.filter(number=number).delete()
        place = f"talk/{talk.pk}/{number}"
        transaction.on_commit(lambda: remove_folder(place), robust=True)


@transaction.atomic
def finish_talk(*, actor: Any, talk: TalkThrough) -> TalkThrough:
    """All is said: one's own talk waits to be written down, and the worker is rung for.

    A talk that was finished before stays as it is. Raises PermissionDenied, and DomainError
    "talk.empty" where nothing was recorded.
    """
    talk = own(actor, talk)
    if talk.state != TalkThrough.State.RECORDING:
        return talk
    if not TalkPiece.objects.filter(take__talk=talk).exists():
        raise DomainError("talk.empty", _("Nothing was recorded."))
    wait_for_words(talk)
    club_id = talk.film.squad.season.club_id
    audit.record(actor, "talkthrough.talk_finished", talk, club_id=club_id)
    return talk


def delete_talk(*, actor: Any, talk: TalkThrough) -> None:
    """Throw one's own talk away: its sound, its words, what was made of them and not accepted.

    Comments that were accepted out of it stay. Raises PermissionDenied.
    """
    with transaction.atomic():
        talk = own(actor, talk)
        club_id = talk.film.squad.season.club_id
        audit.record(actor, "talkthrough.talk_deleted", talk, club_id=club_id, kind=talk.kind)
        place = f"talk/{talk.pk}"
        talk.delete()
        transaction.on_commit(lambda: remove_folder(place), robust=True)


def _require_recording(talk: TalkThrough) -> None:
    """What was finished because its page was gone goes on when the page is back."""
    state = TalkThrough.State
    if talk.state == state.RECORDING:
        return
    was_left = talk.takes.filter(length_ms=None).exists() and talk.finished_at is None
    if was_left and talk.state == state.WRITING:
        raise DomainError("talk.busy", _("What came before is being written down just now."))
    if not was_left:
        raise DomainError(
            "talk.over", _("This talk was finished already. Begin another one for what is left.")
        )
    talk.state = state.RECORDING
    talk.save(update_fields=["state", "updated_at"])
