"""A tally closes, and only then it is evidence; its week rows are written with it."""

from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.tallies.evidence import last_ms, write_weeks
from devplans.tallies.models import Tally
from devplans.tallies.owned import own, own_open

# The last seconds of a film hold no play.
TO_THE_END_MS = 10_000


@transaction.atomic
def close_tally(*, actor: Any, tally: Tally, sure: bool = False) -> Tally:
    """Close one's own count: its chances become rates.

    sure: the whole film was watched although the player did not see it being played.
    Raises DomainError "tally.unseen" while drawn possessions were not played, "tally.unwatched"
    while part of the whole film was not, "tally.closed" where it is closed.
    """
    tally = own_open(actor, tally)
    if tally.is_sample:
        _require_seen(tally)
    elif not sure:
        _require_watched(tally)
    tally.closed_at = timezone.now()
    tally.save(update_fields=["closed_at", "updated_at"])
    write_weeks(tally)
    audit.record(
        actor,
        "tallies.tally_closed",
        tally,
        club_id=tally.film.squad.season.club_id,
        marks=tally.marks.standing().count(),
        reached_ms=tally.reached_ms,
    )
    return tally


def _require_seen(tally: Tally) -> None:
    left = tally.possessions.filter(place__lt=tally.drawn, seen_at=None).count()
    if left:
        words = ngettext(
            "%(count)s drawn possession was not played yet. A sample with gaps is no sample.",
            "%(count)s drawn possessions were not played yet. A sample with gaps is no sample.",
            left,
        )
        raise DomainError("tally.unseen", words % {"count": left})


def _require_watched(tally: Tally) -> None:
    last = last_ms(tally)
    if tally.reached_ms < last - TO_THE_END_MS:
        raise DomainError(
            "tally.unwatched",
            _("You have not come to the end of the film. A count of a part of it is no rate."),
            field="sure",
        )


@transaction.atomic
def reopen_tally(*, actor: Any, tally: Tally) -> Tally:
    """Open one's own closed count again: until it is closed anew it is no evidence.

    Raises DomainError "tally.open" where it is open.
    """
    tally = own(actor, tally)
    if tally.closed_at is None:
        raise DomainError("tally.open", _("This count is open already."))
    tally.closed_at = None
    tally.save(update_fields=["closed_at", "updated_at"])
    write_weeks(tally)
    club_id = tally.film.squad.season.club_id
    audit.record(actor, "tallies.tally_reopened", tally, club_id=club_id)
    return tally


@transaction.atomic
def delete_tally(*, actor: Any, tally: Tally) -> None:
    """Throw one's own open count away, with its marks. Raises DomainError "tally.closed"."""
    tally = own_open(actor, tally)
    audit.record(
        actor,
        "tallies.tally_deleted",
        tally,
        club_id=tally.film.squad.season.club_id,
        marks=tally.marks.standing().count(),
    )
    tally.delete()
