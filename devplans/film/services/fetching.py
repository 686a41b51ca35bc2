"""Films by their https address: asked for, fetched in the background, stopped, begun anew."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.film import adding
from devplans.film.fetching import addresses
from devplans.film.fetching.addresses import Address
from devplans.film.fetching.rows import Fetch
from devplans.film.models import Film
from devplans.film.uploads import limits
from devplans.film.uploads.store import parts
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule.models import Event

# More at once, and one coach would keep all others waiting.
MOST_AT_ONCE = 5


@transaction.atomic
def fetch_film(
    *, actor: Any, squad: Squad, title: str, address: str, event: Event | None = None
) -> Film:
    """Have a film of `squad` fetched from an https address, and prepared when it is there.

    The film waits meanwhile; what shows only when its server is asked ends it as failed, with
    the reason. Raises PermissionDenied, and DomainError "address.refused", "file.quota",
    "fetch.many", "fetch.off", "title.empty" or "event.squad".
    """
    access.require(actor, Action.COACH_SQUAD, squad)
    title = adding.checked_title(title)
    adding.require_event_of(squad, event)
    where = _checked_address(address)
    limits.require_quota(squad.season.club, 1)
    running = Fetch.objects.running().filter(film__uploaded_by=actor)
    if running.count() >= MOST_AT_ONCE:
        message = _("Five films are being fetched for you already. Wait until one of them is here.")
        raise DomainError("fetch.many", message, field="address")
    film = Film.objects.create(
        squad=squad,
        event=event,
        title=title,
        recorded_at=event.starts_at if event else None,
        uploaded_by=actor,
    )
    fetch = Fetch.objects.create(film=film, address=where.url, host=where.host)
    audit.record(actor, "film.fetch_asked", film, club_id=squad.season.club_id, host=where.host)
    _ring(fetch)
    return film


def _checked_address(text: str) -> Address:
    if not settings.FILM_BY_ADDRESS:
        raise DomainError("fetch.off", _(addresses.SWITCHED_OFF), field="address")
    try:
        return addresses.parse(text, named=settings.FILM_ADDRESS_HOSTS)
    except addresses.Refused as error:
        raise DomainError("address.refused", _(error.reason), field="address") from error


def _ring(fetch: Fetch) -> None:
    from devplans.film import tasks

    tasks.fetch.delay_on_commit(str(fetch.pk))


def stop_fetch(*, actor: Any, film: Film) -> None:
    """Fetch no more of a film; what came is forgotten, the film stays as failed.

    Raises PermissionDenied, and DomainError "fetch.over" where nothing is being fetched.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    fetch = Fetch.objects.of_film(film).first()
    stopped = {"ended_at": timezone.now(), "lease_until": None, "lease_token": None}
    with transaction.atomic():
        if not fetch or not Fetch.objects.running().filter(pk=fetch.pk).update(**stopped):
            raise DomainError("fetch.over", _("This film is not being fetched any more."))
        Film.objects.filter(pk=film.pk).update(
            state=Film.State.FAILED, progress=0, problem=_("You stopped fetching this film.")
        )
        audit.record(actor, "film.fetch_stopped", film, club_id=film.squad.season.club_id)
        if fetch.handle:
            transaction.on_commit(lambda: parts().abort(fetch.handle), robust=True)


@transaction.atomic
def fetch_again(*, actor: Any, film: Film) -> None:
    """Begin a fetch that failed or was stopped anew, from the same address.

    Raises PermissionDenied, and DomainError "fetch.gone" where there is no such fetch.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    fetch = Fetch.objects.ended().of_film(film).first()
    if fetch is None or film.state != Film.State.FAILED:
        raise DomainError("fetch.gone", _("The address of this film is not known any more."))
    _checked_address(fetch.address)
    begun = {"ended_at": None, "lease_until": None, "lease_token": None, "handle": ""}
    Fetch.objects.filter(pk=fetch.pk).update(attempts=0, got_bytes=0, most_bytes=0, **begun)
    Film.objects.filter(pk=film.pk).update(state=Film.State.WAITING, progress=0, problem="")
    audit.record(
        actor, "film.fetch_asked", film, club_id=film.squad.season.club_id, host=fetch.host
    )
    _ring(fetch)


def run_fetch(*, fetch_id: UUID) -> bool:
    """Carry on a fetch; True if its film is there now, and is being prepared.

    Whoever holds the row's lease does the work. A worker that was killed loses it, and the fetch
    goes on where it was. Three attempts in a row that bring nothing end it.
    """
    from devplans.film import tasks

    # Only a worker needs what speaks https; a web server starts without it.
    from devplans.film.fetching import job

    film_id = job.run(fetch_id)
    if film_id is not None:
        tasks.prepare.delay(str(film_id))
    return film_id is not None


def sweep_fetches(*, now: datetime | None = None) -> list[UUID]:
    """Ring again for fetches that are due, or whose worker is gone; their keys, oldest first."""
    from devplans.film import tasks

    due = Fetch.objects.claimable(now or timezone.now()).order_by("created_at")
    found = list(due.values_list("pk", flat=True)[:100])
    for fetch_id in found:
        tasks.fetch.delay(str(fetch_id))
    return found
