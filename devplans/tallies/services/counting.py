"""The marks of a tally: sent one by one or many at once, once or again and again."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.tallies.models import Tally, TallyMark, TallyPossession
from devplans.tallies.owned import own

MOST_MARKS = 5_000
# A key is pressed when the chance is over, which may be after the possession.
LEAD_MS, TRAIL_MS = 2_000, 6_000


@dataclass(frozen=True)
class Chance:
    """One pressed key. place: which of the drawn possessions, None where the film is whole."""

    id: UUID
    film_ms: int
    player: UUID
    skill: UUID
    did_it: bool
    place: int | None = None
    undone: bool = False


@dataclass
class Kept:
    """Ids that the server now has as they were sent, and why others were refused."""

    kept: list[UUID] = field(default_factory=list)
    refused: dict[UUID, str] = field(default_factory=dict)


@transaction.atomic
def keep_marks(
    *,
    actor: Any,
    tally: Tally,
    chances: Sequence[Chance],
    seen: Iterable[int] = (),
    reached_ms: int = 0,
) -> Kept:
    """Keep marks; the same one may come any number of times, undone stays undone.

    seen: places of drawn possessions that were played to their end. reached_ms: how far the film
    was watched. Raises PermissionDenied unless the tally is the actor's own.
    """
    tally = own(actor, tally)
    book = _Book(tally, [one.id for one in chances])
    answer = Kept()
    for one in chances:
        try:
            book.put(one)
        except DomainError as error:
            answer.refused[one.id] = str(error)
        else:
            answer.kept.append(one.id)
    if tally.closed_at is None:
        _note_watched(tally, seen, reached_ms)
    return answer


class _Book:
    """What the tally holds and may hold."""

    def __init__(self, tally: Tally, ids: list[UUID]) -> None:
        self.tally = tally
        self.there = {mark.pk: mark for mark in TallyMark.objects.filter(pk__in=ids)}
        self.players = set(tally.players.values_list("pk", flat=True))
        self.skills = set(tally.skills.values_list("pk", flat=True))
        self.count = tally.marks.count()
        drawn = tally.possessions.filter(place__lt=tally.drawn)
        self.drawn = {row.place: row for row in drawn}

    def put(self, one: Chance) -> None:
        mark = self.there.get(one.id)
        if mark is None:
            self._add(one)
        elif not self._is_same(mark, one):
            raise DomainError("mark.other", _("That mark was kept before and says something else."))
        elif one.undone and mark.undone_at is None:
            self._require_open()
            mark.undone_at = timezone.now()
            mark.save(update_fields=["undone_at", "updated_at"])

    def _require_open(self) -> None:
        if self.tally.closed_at is not None:
            raise DomainError("tally.closed", _("The count is closed: open it again first."))

    def _is_same(self, mark: TallyMark, one: Chance) -> bool:
        place = mark.possession.place if mark.possession else None
        kept = (mark.tally_id, mark.film_ms, mark.player_id, mark.skill_id, mark.did_it, place)
        sent = (self.tally.pk, one.film_ms, one.player, one.skill, one.did_it, one.place)
        return kept == sent

    def _add(self, one: Chance) -> None:
        self._require_open()
        if one.player not in self.players or one.skill not in self.skills:
            raise DomainError("mark.foreign", _("That player or skill is not counted here."))
        if not 0 <= one.film_ms <= (self.tally.film.duration_ms or 0):
            raise DomainError("mark.time", _("That moment is not in the film."))
        if self.count >= MOST_MARKS:
            raise DomainError("mark.many", _("This count is full. Close it and begin another."))
        possession = self._possession(one)
        undone_at = timezone.now() if one.undone else None
        mark = TallyMark.objects.create(
            id=one.id,
            tally=self.tally,
            possession=possession,
            film_ms=one.film_ms,
            player_id=one.player,
            skill_id=one.skill,
            did_it=one.did_it,
            undone_at=undone_at,
        )
        self.there[mark.pk] = mark
        self.count += 1

    def _possession(self, one: Chance) -> TallyPossession | None:
        if not self.tally.is_sample:
            return None
        possession = self.drawn.get(-1 if one.place is None else one.place)
        if possession is None:
            raise DomainError("mark.place", _("That possession is not in the sample."))
        if not possession.start_ms - LEAD_MS <= one.film_ms <= possession.end_ms + TRAIL_MS:
            raise DomainError("mark.place", _("That moment lies outside its possession."))
        return possession


def _note_watched(tally: Tally, seen: Iterable[int], reached_ms: int) -> None:
    places = [place for place in seen if 0 <= place < tally.drawn]
    if places:
        rows = tally.possessions.filter(place__in=places, seen_at=None)
        rows.update(seen_at=timezone.now())
    reached_ms = min(reached_ms, tally.film.duration_ms or 0)
    if reached_ms > tally.reached_ms:
        tally.reached_ms = reached_ms
        tally.save(update_fields=["reached_ms", "updated_at"])
