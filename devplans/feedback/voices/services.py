"""Letting the coach's own voice go along with a comment, or not."""

from typing import Any

from django.db import transaction

from devplans.core import audit
from devplans.feedback.models import Comment, Voice
from devplans.feedback.services.corrections import correct_comment
from devplans.feedback.services.drafts import require_open_draft
from devplans.feedback.voices import keeping
from devplans.feedback.voices.log import written
from devplans.feedback.voices.stretch import Sound, cut_sound, drop_sound, require_no_names


def keep_voice(
    *,
    actor: Any,
    comment: Comment,
    source_key: str,
    start_ms: int,
    end_ms: int,
    log: Any,
    cues: Any,
) -> Voice:
    """Let a stretch of recorded sound go along with a draft, in place of what went along before.

    source_key: the recording in the storage. start_ms, end_ms: of its sound, at most a minute.
    log: what the film did, in the recording's own time (see voices.log). cues: the words as
    [start_ms, end_ms, text], counting from the beginning of the stretch.

    Raises PermissionDenied, and DomainError "comment.sent", "voice.long", "voice.log",
    "voice.cues", "voice.names", or "voice.sound" where the recording cannot be read.
    """
    require_open_draft(actor=actor, comment=comment)
    sound = cut_sound(
        film=comment.film, players=list(comment.players.all()), source_key=source_key,
        start_ms=start_ms, end_ms=end_ms, log=log, cues=cues,
    )  # fmt: skip
    try:
        return keep_sound(actor=actor, comment=comment, sound=sound)
    except BaseException:
        drop_sound(sound)
        raise


@transaction.atomic
def keep_sound(*, actor: Any, comment: Comment, sound: Sound) -> Voice:
    """Let sound that was cut out go along with a draft, in place of what went along before.

    Raises PermissionDenied, and DomainError "comment.sent" or "voice.names": the file is there
    still then.
    """
    held = Comment.objects.select_for_update(of=("self",)).get(pk=comment.pk)
    require_open_draft(actor=actor, comment=held)
    require_no_names(held.film, list(held.players.all()), sound.cues, sound.log)
    before = keeping.voice_of(held)
    length = sound.length_ms
    fields = {
        "sound_key": sound.key,
        "length_ms": length,
        "log": written(sound.log.cut(0, length)),
        "cues": [
            [start, min(end, length), text] for start, end, text in sound.cues if start < length
        ],
    }
    voice, _made = Voice.objects.update_or_create(comment=held, defaults=fields)
    comment.voice = voice
    keeping.forget_files([before.sound_key] if before else [])
    club_id = held.film.squad.season.club_id
    audit.record(actor, "feedback.voice_kept", held, club_id=club_id)
    return voice


@transaction.atomic
def drop_voice(*, actor: Any, comment: Comment) -> Comment:
    """Take the voice away from a comment. One that was sent is corrected by that: its clip is cut
    anew, without the voice, and the old one is gone at once. Without a voice nothing happens.

    Raises PermissionDenied, and DomainError "comment.withdrawn".
    """
    if comment.sent_at is not None:
        return correct_comment(actor=actor, comment=comment, drop_voice=True)
    require_open_draft(actor=actor, comment=comment)
    if keeping.forget(comment):
        club_id = comment.film.squad.season.club_id
        audit.record(actor, "feedback.voice_dropped", comment, club_id=club_id)
    return comment
