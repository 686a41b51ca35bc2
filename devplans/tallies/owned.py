"""A count belongs to the coach who began it: who may change one, and when."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.tallies.models import Tally


def own_open(actor: Any, tally: Tally) -> Tally:
    """The tally, locked, if it is the actor's own and not closed."""
    tally = own(actor, tally)
    if tally.closed_at is not None:
        raise DomainError("tally.closed", _("This count is closed. Open it again to change it."))
    return tally


def own(actor: Any, tally: Tally) -> Tally:
    """The tally, locked, if the actor coaches its squad and began it."""
    access.require(actor, Action.COACH_SQUAD, tally.film.squad)
    if tally.coach_id != actor.pk:
        raise PermissionDenied("somebody else counts here")
    rows = Tally.objects.select_for_update(of=("self",)).select_related("film__squad__season__club")
    return rows.get(pk=tally.pk)
