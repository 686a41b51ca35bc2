"""Carrying on one fetch: what comes goes into the store of parts, and once whole to its film."""

import logging
import time
from collections.abc import Iterator
from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.film import faults
from devplans.film.faults import gettext_noop
from devplans.film.fetching import answers, lines
from devplans.film.fetching.addresses import SWITCHED_OFF, Refused
from devplans.film.fetching.answers import Changed, Coming
from devplans.film.fetching.claims import Claim, LeaseLost, claim
from devplans.film.fetching.lines import Broken, Line, Rules
from devplans.film.intake import RESERVE_BYTES
from devplans.film.models import Film
from devplans.film.uploads import limits
from devplans.film.uploads.parts import Held, NoRoom, PartGone, Parts
from devplans.film.uploads.store import parts
from devplans.people import access
from devplans.people.access import Action

log = logging.getLogger(__name__)
MOST_ATTEMPTS = 3
TRY_AGAIN_AFTER = timedelta(seconds=30)
RECONNECT_AFTER_S = 1.0
# How often it is looked whether there is still room, where the server does not say how much comes.
LOOK_EVERY_BYTES = 256 * 1024 * 1024

NOT_YOURS = gettext_noop("Who asked for this film no longer coaches its squad.")
INTERRUPTED = gettext_noop("Fetching this film was interrupted again and again.")


def rules() -> Rules:
    """What the operator allows."""
    return Rules(named=frozenset(settings.FILM_ADDRESS_HOSTS), ca_file=settings.FILM_ADDRESS_CA)


def run(fetch_id: UUID) -> UUID | None:
    """Carry on a fetch until its film is there, or it cannot go on now.

    The film's key if it is there, and may be prepared; else None.
    """
    mine = claim(fetch_id)
    if mine is None:
        return None
    try:
        return _work(mine)
    except LeaseLost:
        _clear_up(mine)
        return None


def _clear_up(mine: Claim) -> None:
    """Stopped or deleted meanwhile: nothing of it stays. Taken over: it is another's now."""
    running = type(mine.fetch).objects.running()
    if mine.fetch.handle and not running.filter(pk=mine.fetch.pk).exists():
        parts().abort(mine.fetch.handle)


def _work(mine: Claim) -> UUID | None:
    if reason := _why_not(mine):
        return fail(mine, reason)
    while True:
        best = mine.fetch.most_bytes
        try:
            return _arrived(mine, _carry_on(mine, parts()))
        except Refused as error:
            log.info("fetch %s refused: %s", mine.fetch.pk, type(error).__name__)
            return fail(mine, error.reason)
        except DomainError as error:
            return fail(mine, str(error))
        except NoRoom:
            return wait(mine, faults.NO_ROOM, counts=False)
        except (Broken, Held, OSError) as error:
            reason = error.reason if isinstance(error, Broken) else faults.STOPPED
            if mine.fetch.most_bytes == best:
                return wait(mine, reason, counts=True)
            time.sleep(RECONNECT_AFTER_S)


def _why_not(mine: Claim) -> str:
    """Why nothing is fetched any more; "" where nothing is in the way."""
    film = mine.fetch.film
    if not settings.FILM_BY_ADDRESS:
        return SWITCHED_OFF
    if not film.uploaded_by or not access.allows(film.uploaded_by, Action.COACH_SQUAD, film.squad):
        return NOT_YOURS
    return INTERRUPTED if mine.fetch.attempts > MOST_ATTEMPTS else ""


def _carry_on(mine: Claim, store: Parts) -> int:
    """Get what is missing; the size of the whole, which lies in the store then."""
    fetch = mine.fetch
    try:
        have = store.size(fetch.handle) if fetch.handle else _begin(mine, store)
    except PartGone:
        # Moved to its place already, by one who then had no time to say so?
        if fetch.total_bytes and fetch.got_bytes == fetch.total_bytes:
            return fetch.total_bytes
        have = _begin(mine, store)
    if have and have == fetch.total_bytes:
        return have
    if have and not fetch.validator:
        have = _begin(mine, store)
    try:
        return _take(mine, store, have)
    except Changed:
        _begin(mine, store)
        raise


def _begin(mine: Claim, store: Parts) -> int:
    """Forget what is there, and begin a part anew."""
    if mine.fetch.handle:
        store.abort(mine.fetch.handle)
    name = f"fetch-{mine.fetch.pk}-{time.time_ns():x}"
    handle = store.create(name, settings.FILM_MAX_BYTES)
    mine.write(handle=handle, validator="", total_bytes=None, got_bytes=0)
    return 0


def _take(mine: Claim, store: Parts, have: int) -> int:
    fetch = mine.fetch
    headers = answers.asked(have, fetch.validator)
    with lines.opened(fetch.address, rules=rules(), headers=headers) as line:
        most = settings.FILM_MAX_BYTES
        coming = answers.coming(line.status, line.headers, have=have, most_bytes=most)
        if coming.start != have:
            have = _begin(mine, store)
        mine.write(total_bytes=coming.total, validator=coming.validator)
        _require_room(mine, store, have)
        mine.progress(have, at_once=True)
        with store.hold(fetch.handle):
            size = _keep(mine, store, line, coming)
    if coming.total is None:
        mine.write(total_bytes=size)
    elif size != coming.total:
        raise Broken(lines.CUT, f"{size} of {coming.total}")
    mine.progress(size, at_once=True)
    return size


def _keep(mine: Claim, store: Parts, line: Line, coming: Coming) -> int:
    """Write what comes; where the line breaks, note how far it came."""
    try:
        return store.append(mine.fetch.handle, _looked_at(mine, store, line, coming))
    except (Broken, NoRoom):
        mine.progress(store.size(mine.fetch.handle), at_once=True)
        raise


def _looked_at(mine: Claim, store: Parts, line: Line, coming: Coming) -> Iterator[bytes]:
    """The pieces that come, each looked at: is it a film, does it still fit, does anyone wait?"""
    got, looked, head = coming.start, coming.start, b""
    for piece in line.chunks():
        got += len(piece)
        if got > (coming.total or settings.FILM_MAX_BYTES):
            raise Refused(answers.TOO_BIG)
        if coming.start == 0 and len(head) < answers.HEAD_BYTES:
            head += piece
            if len(head) < answers.HEAD_BYTES:
                continue
            answers.require_film(head, line.headers.get("Content-Type", ""))
            piece = head
        if got - looked >= LOOK_EVERY_BYTES:
            looked = got
            _require_room(mine, store, got)
        yield piece
        mine.progress(got)
    if coming.start == 0 and len(head) < answers.HEAD_BYTES:
        if not head:
            raise Refused(answers.EMPTY)
        answers.require_film(head, line.headers.get("Content-Type", ""))
        yield head


def _require_room(mine: Claim, store: Parts, have: int) -> None:
    """Raise NoRoom, or DomainError "file.quota", where the film does not fit."""
    film, total = mine.fetch.film, mine.fetch.total_bytes or have
    Film.objects.filter(pk=film.pk).update(size_bytes=total)
    limits.require_quota(film.squad.season.club, 0)
    if not store.has_room(total - have + limits.still_to_come(store), RESERVE_BYTES):
        raise NoRoom


def _arrived(mine: Claim, size: int) -> UUID:
    """All is there: move it to its film, which waits to be prepared then."""
    film_id = mine.fetch.film_id
    key = f"films/{film_id}/original"
    try:
        parts().finish(mine.fetch.handle, key, size)
    except PartGone as error:
        mine.write(handle="", got_bytes=0)
        raise Broken(lines.CUT, "the part is gone") from error
    kept = {"original_key": key, "size_bytes": size}
    mine.end({"progress": 0, "problem": "", **kept}, address="", handle="", got_bytes=size)
    return film_id


def fail(mine: Claim, reason: str) -> None:
    """The film cannot be had: say why, and keep nothing of it."""
    handle = mine.fetch.handle
    failed = {"state": Film.State.FAILED, "problem": _(reason), "progress": 0, "size_bytes": 0}
    mine.end(failed, handle="", got_bytes=0)
    if handle:
        parts().abort(handle)


def wait(mine: Claim, reason: str, *, counts: bool) -> None:
    """Go on later; at the third attempt in vain, if it `counts`, no more."""
    attempts = mine.fetch.attempts
    if counts and attempts >= MOST_ATTEMPTS:
        return fail(mine, reason)
    Film.objects.filter(pk=mine.fetch.film_id).update(problem=_(reason))
    mine.write(
        lease_until=timezone.now() + TRY_AGAIN_AFTER * max(attempts, 1),
        lease_token=None,
        attempts=attempts if counts else max(attempts - 1, 0),
    )
    return None
