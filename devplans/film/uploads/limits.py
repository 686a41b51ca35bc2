"""What is looked at before a file is taken, and while its first bytes come."""

from collections.abc import Iterable, Iterator

from django.conf import settings
from django.db.models import Sum
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.film import faults, intake
from devplans.film.facts import SNIFF_BYTES, sniff
from devplans.film.models import Film, Upload
from devplans.film.uploads.parts import PartGone, Parts
from devplans.people.models import Club, User

MOST_FILES = 24


class NoFilm(Exception):
    """The first bytes belong to something else."""


def require_fits(*, actor: User, club: Club, length: int, store: Parts) -> None:
    """Raise DomainError unless a file of `length` bytes may be sent by `actor` for `club`.

    "file.empty", "file.size", "file.quota", "uploads.many" or "file.room".
    """
    if length == 0:
        raise DomainError("file.empty", _(faults.EMPTY), field="file")
    if length > settings.FILM_MAX_BYTES:
        raise intake.too_big()
    require_quota(club, length)
    under_way = list(Upload.objects.open().filter(user=actor))
    if len(under_way) >= settings.UPLOADS_OPEN_MOST:
        message = _(
            "%(count)s files of yours are on their way already. Finish one of them first, or stop "
            "one on the page “Upload a film”."
        )
        raise DomainError("uploads.many", message % {"count": len(under_way)})
    if not store.has_room(length + still_to_come(store), intake.RESERVE_BYTES):
        raise intake.no_room()


def require_quota(club: Club, length: int) -> None:
    """Raise DomainError "file.quota" where the club's films, also those on their way, fill it."""
    kept = Film.objects.filter(squad__season__club=club).exclude(state=Film.State.FAILED)
    used = kept.aggregate(sum=Sum("size_bytes"))["sum"] or 0
    most = settings.FILM_QUOTA_BYTES
    if used + length > most:
        message = _(
            "The club may keep %(most)s of film and has %(used)s. Delete films that are not "
            "needed any more, or ask the person who runs the portal for more room."
        )
        words = {"most": intake.in_words(most), "used": intake.in_words(used)}
        raise DomainError("file.quota", message % words, field="file")


def still_to_come(store: Parts) -> int:
    """Bytes that were promised room and have not arrived."""
    under_way = Upload.objects.open().values_list("length", "handle")
    return sum(max(0, length - size_or_nothing(store, handle)) for length, handle in under_way)


def size_or_nothing(store: Parts, handle: str) -> int:
    """Bytes that are there of a part; 0 where it is gone."""
    try:
        return store.size(handle)
    except PartGone:
        return 0


def looked_at(pieces: Iterable[bytes], before: bytes) -> Iterator[bytes]:
    """`pieces` as they come; raises NoFilm as soon as the first bytes tell. before: those there."""
    head = before
    for piece in pieces:
        if len(head) < SNIFF_BYTES:
            head = (head + piece)[:SNIFF_BYTES]
            if len(head) == SNIFF_BYTES and sniff(head) is None:
                raise NoFilm
        yield piece
