from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.ids import uuid7
from devplans.film import adding, intake, preparing
from devplans.film.adding import checked_title as _checked_title
from devplans.film.adding import require_event_of as _require_event_of
from devplans.film.models import Film, lacking_consent
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Squad
from devplans.schedule.models import Event


def add_film(
    *, actor: Any, squad: Squad, title: str, file: Any, event: Event | None = None
) -> Film:
    """Keep an uploaded film of `squad` and have it prepared.

    file: an open uploaded file with `size`; mp4, mov or webm. Nothing is kept of what is refused.
    Raises PermissionDenied, and DomainError "file.empty", "file.size", "file.type", "file.room",
    "title.empty" or "event.squad".
    """
    access.require(actor, Action.COACH_SQUAD, squad)
    title = _checked_title(title)
    _require_event_of(squad, event)
    intake.require_film(file)
    film_id = uuid7()
    key = default_storage.save(f"films/{film_id}/original", file)
    try:
        with transaction.atomic():
            film = Film.objects.create(
                id=film_id,
                squad=squad,
                event=event,
                title=title,
                recorded_at=event.starts_at if event else None,
                uploaded_by=actor,
                size_bytes=file.size,
                original_key=key,
            )
            audit.record(actor, "film.added", film, club_id=squad.season.club_id)
            adding.queue(film)
    except BaseException:
        default_storage.delete(key)
        raise
    return film


@transaction.atomic
def change_film(*, actor: Any, film: Film, title: str, event: Event | None) -> Film:
    """Give a film another title or another date of the calendar.

    Raises PermissionDenied, and DomainError "title.empty" or "event.squad".
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    film.title = _checked_title(title)
    _require_event_of(film.squad, event)
    if event is not None and event.pk != film.event_id:
        film.recorded_at = event.starts_at
    film.event = event
    film.save(update_fields=["title", "event", "recorded_at", "updated_at"])
    audit.record(actor, "film.changed", film, club_id=film.squad.season.club_id)
    return film


@transaction.atomic
def open_film(*, actor: Any, film: Film, open_to: str) -> Film:
    """Let the whole squad and its guardians watch a film, or its coaches only again.

    open_to: a Film.OpenTo. Raises PermissionDenied, and DomainError "film.not_ready" or
    "consent.missing", which names the players without a consent to be filmed.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    if open_to == Film.OpenTo.SQUAD:
        if not film.is_ready:
            raise DomainError("film.not_ready", _("The film can be opened when it is ready."))
        missing = without_consent(actor=actor, squad=film.squad)
        if missing:
            message = _(
                "Without a consent to be filmed: %(names)s. Ask their guardians, or a director "
                "records it from paper. Then the film can be opened to the squad."
            )
            raise DomainError("consent.missing", message % {"names": ", ".join(missing)})
    film.open_to = Film.OpenTo(open_to)
    film.save(update_fields=["open_to", "updated_at"])
    audit.record(
        actor, "film.opened", film, club_id=film.squad.season.club_id, open_to=str(open_to)
    )
    return film


def without_consent(*, actor: Any, squad: Squad) -> list[str]:
    """Names of the players of a squad of the actor's without a valid consent to be filmed."""
    access.require(actor, Action.COACH_SQUAD, squad)
    rows = lacking_consent().filter(squad=squad).select_related("player")
    return sorted({row.player.full_name for row in rows})


def delete_film(*, actor: Any, film: Film) -> None:
    """Delete a film with the drafts on it and every file made of it.

    Raises PermissionDenied, and DomainError "film.sent" where a comment on it was sent: what a
    child was told, and what was said about it, is not the coach's to remove.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    film_id = film.pk
    with transaction.atomic():
        if Film.objects.filter(pk=film_id, comments__sent_at__isnull=False).exists():
            message = _(
                "Comments on this film were sent, and players still read them. So the film stays."
            )
            raise DomainError("film.sent", message)
        audit.record(actor, "film.deleted", film, club_id=film.squad.season.club_id)
        film.delete()
        transaction.on_commit(lambda: preparing.remove_files(film_id), robust=True)


def prepare_film(*, film_id: UUID) -> bool:
    """Read a waiting film and make its copy, poster and frame times; True if this call did.

    Whoever holds the row's lease does the work and keeps the lease up while there is progress.
    A worker that was killed loses it, and the film is taken over, three times at most.
    """
    return preparing.prepare(film_id)


def prepare_next_film() -> bool:
    """Prepare the film whose turn it is, see devplans.film.turns; True if this call did.

    The one that somebody waits for goes first; a long one gives way to it between two pieces.
    """
    return preparing.prepare_next()


def sweep(*, now: datetime | None = None) -> list[UUID]:
    """Ring again for films that wait, or whose worker is gone; their keys, oldest first."""
    from devplans.film import tasks

    preparing.sweep_folders()
    due = Film.objects.claimable(now or timezone.now()).order_by("created_at")
    found = list(due.values_list("pk", flat=True)[:100])
    for film_id in found:
        tasks.prepare.delay(str(film_id))
    return found
