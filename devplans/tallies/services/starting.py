"""A tally begins: what is counted, for whom, over which part of the film."""

import secrets
from collections.abc import Sequence
from random import Random
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.catalogue.models import Skill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.tallies.models import Tally, TallyPossession
from devplans.tallies.owned import own_open
from devplans.tallies.roster import roster

MOST_SKILLS = 3
MORE = 20
LEAST_DRAWN = 5


@transaction.atomic
def start_tally(
    *,
    actor: Any,
    film: Film,
    skills: Sequence[Skill],
    players: Sequence[Player] = (),
    scope: str = Tally.Scope.WHOLE,
    drawn: int = MORE,
    side: str = "",
) -> Tally:
    """Begin to count chances on a film.

    skills: one to three. players: none means everybody of the squad.
    drawn: of a sample, how many possessions; side: "ours" or "theirs" draws only from those.
    What is drawn is fixed by the seed; possessions that are marked later do not change it.
    Raises DomainError for what cannot be counted.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    there = [entry.player for entry in roster(film)]
    chosen = list(players) or there
    _check(film, skills, chosen, there)
    _check_new(actor, film, skills, chosen, scope)
    tally = Tally.objects.create(film=film, coach=actor, scope=scope)
    tally.skills.set(skills)
    tally.players.set(chosen)
    if tally.is_sample:
        _shuffle(tally, drawn, side)
    audit.record(
        actor, "tallies.tally_started", tally, club_id=film.squad.season.club_id, scope=scope
    )
    return tally


def _check(
    film: Film, skills: Sequence[Skill], chosen: Sequence[Player], there: Sequence[Player]
) -> None:
    if not film.is_ready:
        raise DomainError("tally.film", _("The film is not ready yet."))
    if not 1 <= len(set(skills)) <= MOST_SKILLS:
        raise DomainError("tally.skills", _("Choose one to three skills."), field="skill")
    if not there:
        raise DomainError(
            "tally.nobody", _("There is nobody in the squad to count."), field="players"
        )
    if not set(chosen) <= set(there):
        raise DomainError("tally.players", _("Somebody is not in this squad."), field="players")


def _check_new(
    actor: Any, film: Film, skills: Sequence[Skill], chosen: Sequence[Player], scope: str
) -> None:
    """The same chances counted twice by one person would look like twice the evidence."""
    before = counted_before(actor=actor, film=film, skills=skills, players=chosen, scope=scope)
    if before is None:
        return
    message = _("You have a count of that skill and player on this film already. Go on with it.")
    if before.closed_at:
        message = _("You have counted that skill and player on this film and closed the count.")
    raise DomainError("tally.twice", message)


def counted_before(
    *,
    actor: Any,
    film: Film,
    skills: Sequence[Skill],
    players: Sequence[Player] = (),
    scope: str = Tally.Scope.WHOLE,
) -> Tally | None:
    """The count of `actor` that such a new one would repeat, an open one first; else None.

    players: none means everybody of the squad.
    """
    chosen = list(players) or [entry.player for entry in roster(film)]
    same = Tally.objects.filter(film=film, coach=actor, scope=scope, skills__in=skills)
    rows = same.filter(players__in=chosen)
    return rows.order_by(F("closed_at").asc(nulls_first=True), "created_at").first()


def _shuffle(tally: Tally, drawn: int, side: str) -> None:
    """Copy the film's possessions in an order that only the seed decides."""
    rows = tally.film.possessions.exclude(end_ms=None)
    possessions = list(rows.filter(side=side) if side else rows)
    if len(possessions) < LEAST_DRAWN:
        few = ngettext(
            "Only %(count)s possession is marked. Mark them on the film’s page first.",
            "Only %(count)s possessions are marked. Mark them on the film’s page first.",
            len(possessions),
        )
        raise DomainError("tally.possessions", few % {"count": len(possessions)}, field="scope")
    tally.seed = secrets.randbelow(2**62)
    Random(tally.seed).shuffle(possessions)  # noqa: S311 - kept, so that the draw can be redone
    tally.drawn = min(max(drawn, LEAST_DRAWN), len(possessions))
    tally.save(update_fields=["seed", "drawn", "updated_at"])
    TallyPossession.objects.bulk_create(
        TallyPossession(
            tally=tally, place=place, side=one.side, start_ms=one.start_ms, end_ms=one.end_ms
        )
        for place, one in enumerate(possessions)
    )


@transaction.atomic
def draw_more(*, actor: Any, tally: Tally, count: int = MORE) -> Tally:
    """Add the next `count` possessions of the shuffled film to the sample.

    Raises DomainError "tally.closed", "tally.whole", or "tally.all_drawn" when none is left.
    """
    tally = own_open(actor, tally)
    if not tally.is_sample:
        raise DomainError("tally.whole", _("The whole film is being counted already."))
    drawn = min(tally.drawn + count, tally.possessions.count())
    if drawn == tally.drawn:
        raise DomainError("tally.all_drawn", _("Every possession is in the sample already."))
    tally.drawn = drawn
    tally.save(update_fields=["drawn", "updated_at"])
    club_id = tally.film.squad.season.club_id
    audit.record(actor, "tallies.possessions_drawn", tally, club_id=club_id, drawn=drawn)
    return tally
