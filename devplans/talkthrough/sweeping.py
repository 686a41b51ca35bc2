"""What is done about talks without anybody asking: pages that died, and sound that is not needed.

Sound is the most that is kept of a person, so it goes first: a day after a talk was corrected to
the end, and TALK_SOUND_DAYS after it was said in any case. What clips need of it they have cut out
for themselves by then. The words stay until the talk or its film is deleted.
"""

from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.film.intake import UUID_NAME
from devplans.film.storing import remove_folder, remove_unnamed
from devplans.talkthrough.models import TalkPiece, TalkTake, TalkThrough
from devplans.talkthrough.owned import wait_for_words

LEFT_AFTER = timedelta(hours=24)
KEPT_AFTER_CORRECTING = timedelta(days=1)
AT_ONCE = 100


def sweep(*, now: datetime | None = None) -> int:
    """Finish talks whose page is gone, delete sound that is not needed any more, and files of
    talks that were deleted; how many talks were touched."""
    now = now or timezone.now()
    return finish_left(now=now) + delete_old_sound(now=now) + delete_orphans()


def finish_left(*, now: datetime) -> int:
    """Talks of which nothing came for a day are written down as far as they came; those of which
    nothing came at all are deleted."""
    found = TalkThrough.objects.left(before=now - LEFT_AFTER)[:AT_ONCE]
    for talk in found:
        with transaction.atomic():
            if TalkPiece.objects.filter(take__talk=talk).exists():
                # An open take says that its page may come back and go on.
                talk.takes.filter(number=talk.takes.aggregate(last=Max("number"))["last"]).update(
                    length_ms=None
                )
                wait_for_words(talk)
            else:
                talk.delete()
    return len(found)


def delete_old_sound(*, now: datetime) -> int:
    """Delete the sound of talks that are corrected to the end or too old."""
    found = TalkThrough.objects.with_sound_to_delete(
        corrected_before=now - KEPT_AFTER_CORRECTING,
        said_before=now - timedelta(days=settings.TALK_SOUND_DAYS),
    )[:AT_ONCE]
    for talk in found:
        with transaction.atomic():
            delete_sound(talk=talk)
    return len(found)


def delete_sound(*, talk: TalkThrough) -> None:
    """Delete the sound of a talk and leave its words; within a transaction."""
    TalkPiece.objects.filter(take__talk=talk).delete()
    talk.takes.update(sound_key="")
    if talk.state == TalkThrough.State.WAITING:
        talk.state = TalkThrough.State.FAILED
        talk.problem = _("The sound was deleted by age before it was written down.")
        talk.save(update_fields=["state", "problem", "updated_at"])
    place = f"talk/{talk.pk}"
    transaction.on_commit(lambda: remove_folder(place), robust=True)


def delete_orphans() -> int:
    """Delete files of talks that have no row: their film was deleted, and they with it."""
    try:
        folders, _files = default_storage.listdir("talk")
    except FileNotFoundError:
        return 0
    keys = [UUID(name) for name in folders if UUID_NAME.fullmatch(name)]
    known = TalkThrough.objects.known(keys)
    gone = [key for key in keys if key not in known]
    for key in gone:
        remove_folder(f"talk/{key}")
    return len(gone)


def sweep_files(*, now: datetime | None = None) -> int:
    """Delete sound of the talks that are here which is older than a day and which no row names: it
    was kept, or to be deleted, by a process that was killed. How many files."""

    def named(keys: list[str]) -> set[str]:
        pieces = TalkPiece.objects.filter(key__in=keys).values_list("key", flat=True)
        takes = TalkTake.objects.filter(sound_key__in=keys).values_list("sound_key", flat=True)
        return {*pieces, *takes}

    return remove_unnamed("talk", named, now=now or timezone.now())
