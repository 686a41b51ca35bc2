"""The still of a film that a request asks for; the page and the API answer alike."""

import re

from django.utils.translation import gettext as _

from devplans.core.errors import Conflict, DomainError
from devplans.film import parts, preparing, sandbox
from devplans.film.faults import UNREADABLE, MediaError
from devplans.film.models import Film

# Longer than any film may be; what lies past its end means its last frame.
MOST_MS = 10**9


def asked_ms(text: str | None) -> int:
    """The `ms` of a request; raises DomainError "ms.number"."""
    if text is None or not re.fullmatch(r"[0-9]{1,12}", text):
        raise DomainError("ms.number", _("Give a whole number of milliseconds."), field="ms")
    return min(int(text), MOST_MS)


def still_of(film: Film, ms: int) -> bytes:
    """JPEG of the frame of the original that is on screen at `ms`; past the end the last one.

    Raises Conflict for a film that is not ready yet, MediaError where the picture cannot be made.
    A failed film has none: see `has_stills`.
    """
    if film.is_unfinished:
        raise Conflict("film.not_ready", _("The film is not ready yet."))
    key, ms = original_at(film, ms)
    if not key:
        raise MediaError(UNREADABLE)
    with preparing.work_folder() as folder:
        return sandbox.still(preparing.on_disk(key, folder), ms)


def original_at(film: Film, ms: int) -> tuple[str, int]:
    """Key of the original file on screen at `ms` of the film, and the time in that file.

    The key is empty where nothing is kept of the originals.
    """
    files = [(file.key, file.duration_ms) for file in film.files.all()]
    if len(files) < 2:
        return film.original_key or (files[0][0] if files else ""), ms
    number, ms = parts.locate([length for _key, length in files], ms)
    return files[number][0], ms


def has_stills(film: Film) -> bool:
    return film.state != Film.State.FAILED


def etag_of(film: Film, ms: int) -> str:
    """Originals never change, so neither do their frames."""
    return f"{film.pk.hex}-{ms}"
