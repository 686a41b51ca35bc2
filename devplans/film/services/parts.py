from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.film.models import Film, FilmPart
from devplans.people import access, lookups
from devplans.people.access import Action

Part = FilmPart.Part
OTHER = {
    Part.OURS: Part.THEIRS,
    Part.THEIRS: Part.OURS,
    Part.FIRST: Part.SECOND,
    Part.SECOND: Part.FIRST,
}


@transaction.atomic
def split_film(*, actor: Any, film: Film, part: str, other: Any) -> list[FilmPart]:
    """Share a film between two coaches of its squad: the actor takes `part`, `other` what is left.

    part: a value of FilmPart.Part. An earlier split gives way to this one. It narrows what the
    film page steps through and closes nothing. Raises PermissionDenied, and DomainError
    "parts.coach" (not another coach of the squad).
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    coaches = {coach.pk for coach in lookups.coaches_of(film.squad)}
    if other.pk == actor.pk or other.pk not in coaches:
        message = _("Pick another coach of this squad.")
        raise DomainError("parts.coach", message, field="other")
    Film.objects.select_for_update(of=("self",)).get(pk=film.pk)
    FilmPart.objects.of_film(film).delete()
    mine = Part(part)
    made = [
        FilmPart.objects.create(film=film, coach=actor, part=mine),
        FilmPart.objects.create(film=film, coach=other, part=OTHER[mine]),
    ]
    audit.record(actor, "film.split", film, club_id=film.squad.season.club_id, part=str(mine))
    return made


@transaction.atomic
def join_film(*, actor: Any, film: Film) -> None:
    """Undo the split: every coach has the whole film. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, film.squad)
    gone, _rows = FilmPart.objects.of_film(film).delete()
    if gone:
        audit.record(actor, "film.joined", film, club_id=film.squad.season.club_id)
