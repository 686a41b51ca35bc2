from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.film.models import Film, Possession
from devplans.film.times import told
from devplans.people import access
from devplans.people.access import Action


@transaction.atomic
def put_possession(
    *,
    actor: Any,
    film: Film,
    possession_id: UUID,
    side: str,
    start_ms: int,
    end_ms: int | None = None,
) -> list[Possession]:
    """Mark a possession, or change the one of that id; the rows that changed, this one first.

    The page makes the id, so that a request that is sent twice marks once. Film times are
    milliseconds; end_ms None: it goes on. Where a later one exists, it goes on until that begins;
    an earlier one that goes on ends where this one begins.
    Raises PermissionDenied, and DomainError "possession.film_time" (outside the film),
    "possession.order" (ends before it begins), "possession.overlap", or "possession.elsewhere"
    (that id is another film's).
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    # Two coaches may mark at once: one after the other.
    Film.objects.select_for_update().get(pk=film.pk)
    row = Possession.objects.filter(pk=possession_id).first()
    if row is not None and row.film_id != film.pk:
        raise DomainError("possession.elsewhere", _("That possession is of another film."))
    _check_times(film, start_ms, end_ms)
    others = Possession.objects.of_film(film).exclude(pk=possession_id)
    if end_ms is None:
        later = others.filter(start_ms__gt=start_ms).order_by("start_ms").first()
        end_ms = later.start_ms if later else None
    closed = _close_open(others, start_ms)
    _check_free(others, start_ms, end_ms)
    is_new = row is None
    wanted = {"side": Possession.Side(side), "start_ms": start_ms, "end_ms": end_ms}
    if row is None:
        row = Possession(pk=possession_id, film=film)
    elif all(getattr(row, name) == value for name, value in wanted.items()):
        return [row, *closed]
    for name, value in wanted.items():
        setattr(row, name, value)
    row.save(force_insert=is_new)
    verb = "film.possession_marked" if is_new else "film.possession_changed"
    audit.record(actor, verb, row, club_id=film.squad.season.club_id)
    return [row, *closed]


def _check_times(film: Film, start_ms: int, end_ms: int | None) -> None:
    last = film.duration_ms
    if last is not None and (start_ms >= last or (end_ms or 0) > last):
        message = _("That is outside of the film, which ends at %(end)s.") % {"end": told(last)}
        raise DomainError("possession.film_time", message, field="start_ms")
    if end_ms is not None and end_ms <= start_ms:
        message = _("A possession ends after it begins.")
        raise DomainError("possession.order", message, field="end_ms")


def _close_open(others: Any, start_ms: int) -> list[Possession]:
    """Those that still go on end where the next one begins."""
    closed = list(others.filter(end_ms=None, start_ms__lt=start_ms))
    for row in closed:
        row.end_ms = start_ms
        row.save(update_fields=["end_ms", "updated_at"])
    return closed


def _check_free(others: Any, start_ms: int, end_ms: int | None) -> None:
    """One that goes on holds no more than the moment where it began."""
    begins_inside = Q(start_ms=start_ms)
    if end_ms is not None:
        begins_inside |= Q(start_ms__gt=start_ms, start_ms__lt=end_ms)
    lasts = Q(start_ms__lt=start_ms, end_ms__gt=start_ms)
    other = others.filter(begins_inside | lasts).order_by("start_ms").first()
    if other is None:
        return
    until = told(other.end_ms) if other.end_ms else _("now")
    message = _(
        "It would overlap the possession from %(start)s to %(end)s. "
        "Change or delete that one first."
    ) % {"start": told(other.start_ms), "end": until}
    raise DomainError("possession.overlap", message, field="start_ms")


@transaction.atomic
def delete_possession(*, actor: Any, film: Film, possession_id: UUID) -> None:
    """Take a possession off a film; nothing where it is gone already. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, film.squad)
    for row in Possession.objects.of_film(film).filter(pk=possession_id):
        audit.record(
            actor,
            "film.possession_deleted",
            row,
            club_id=film.squad.season.club_id,
            start_ms=row.start_ms,
            end_ms=row.end_ms,
            side=row.side,
        )
        row.delete()
