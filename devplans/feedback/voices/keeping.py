"""The coach's voice of a comment: whom it may reach, what of it is shown, and its files.

A clip is one file for all addressees, and a voice cannot be written over like words. So one that
names another player is not sent at all: to one player no other one of the squad, to several none.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback import drawing as drawings
from devplans.feedback import naming, roster, wording
from devplans.feedback.drawings import svg
from devplans.feedback.drawings.shapes import Shape
from devplans.feedback.models import Clip, Comment, Delivery, Voice
from devplans.feedback.roster import Entry
from devplans.feedback.voices import strokes
from devplans.feedback.voices.log import Log, read_log

Cue = tuple[int, int, str]
Layer = tuple[int, str, strokes.Box | None]


def voice_of(comment: Comment) -> Voice | None:
    try:
        return comment.voice
    except Voice.DoesNotExist:
        return None


def names_in(
    texts: Iterable[str], entries: Iterable[Entry], addressed: Iterable[UUID]
) -> list[str]:
    """The words that name players whom a voice to `addressed` must not name."""
    keys = set(addressed)
    others = roster.named_except(entries, *(keys if len(keys) == 1 else ()))
    found = [one.words for text in texts for one in naming.find(text, others, careful=True)]
    return list(dict.fromkeys(found))


def texts_of(cues: Sequence[Any], log: Log) -> list[str]:
    """What is said, as one text since a name may lie across two cues, and what is written."""
    said = " ".join(str(text) for _start, _end, text in cues)
    return [said, *(stroke.shape["text"] for stroke in log.strokes if "text" in stroke.shape)]


def names_of(comment: Comment, entries: Sequence[Entry] | None = None) -> list[str]:
    """Whom the comment's voice names and must not; nobody where it has none.

    entries: the roster with all that are addressed, where it is known already.
    """
    voice = voice_of(comment)
    if voice is None:
        return []
    players = list(comment.players.all())
    if entries is None:
        entries = roster.roster(comment.film, extra=players)
    texts = texts_of(voice.cues, read_log(voice.log))
    return names_in(texts, entries, [player.pk for player in players])


def refusal(names: Sequence[str]) -> DomainError:
    quoted = ", ".join(f"“{name}”" for name in names)
    message = _(
        "Your voice names another player: %(names)s. Families hear of their own child only, so it "
        "cannot go along."
    )
    return DomainError("voice.names", message % {"names": quoted}, field="voice")


def check_names(comment: Comment) -> None:
    """Raise DomainError "voice.names" where the comment's voice names whom it must not."""
    names = names_of(comment)
    if names:
        raise refusal(names)


def layers(comment: Comment, voice: Voice) -> Iterator[Layer]:
    """What is drawn while the voice is heard, as SVG over the film's frames. Texts name no
    addressee to another one's family, as those of drawings."""
    addressed = list(comment.players.all())
    others = []
    if len(addressed) > 1:
        entries = wording.entries_by_player(roster.roster(comment.film, extra=addressed))
        others = [wording.names_of(player, entries) for player in addressed]
    width, height = drawings.frame_of(comment.film)
    for moment, shapes in strokes.changes(read_log(voice.log), voice.length_ms):
        told: list[Shape] = drawings.masked(shapes, others)
        drawn = svg.drawn(told, width=width, height=height) if told else ""
        yield moment, drawn, strokes.box_around(told)


def captions_for(delivery: Delivery) -> list[Cue]:
    """The words of the clip's voice as that player and his family may read them: other players'
    names are masked, should one have joined the squad since they were said."""
    comment = delivery.comment
    voice = voice_of(comment)
    if voice is None:
        return []
    addressed = list(comment.players.all())
    entries = roster.roster(comment.film, extra=[*addressed, delivery.player])
    own = wording.names_of(delivery.player, wording.entries_by_player(entries))
    others = roster.named_except(entries, delivery.player_id)
    return [
        (start, end, naming.mask(text, others, keep=own, careful=True))
        for start, end, text in voice.cues
    ]


def copy(comment: Comment, other: Comment) -> None:
    """Let `other`, split off `comment`, have the same voice; both share its file."""
    voice = voice_of(comment)
    if voice is not None:
        Voice.objects.create(
            comment=other,
            sound_key=voice.sound_key,
            length_ms=voice.length_ms,
            log=voice.log,
            cues=voice.cues,
        )


def forget(comment: Comment) -> bool:
    """Take the voice away from a comment, also out of the clips that were made with it; was there
    one? Its files go once that is committed."""
    voice = voice_of(comment)
    if voice is None:
        return False
    voice.delete()
    comment._state.fields_cache.pop("voice", None)
    voiced = comment.clips.filter(voiced=True).exclude(video_key="")
    forget_files(voiced.values_list("video_key", flat=True))
    voiced.update(video_key="", voiced=False, state=Clip.State.FAILED)
    return True


def forget_files(keys: Iterable[str]) -> None:
    """Delete files once what is under way is committed, if nothing needs them then."""
    gone = [key for key in keys if key]
    if gone:
        transaction.on_commit(lambda: _delete(gone), robust=True)


def _delete(keys: list[str]) -> None:
    shared = set(Voice.objects.filter(sound_key__in=keys).values_list("sound_key", flat=True))
    for key in keys:
        if key not in shared:
            default_storage.delete(key)
