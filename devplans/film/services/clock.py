from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.film import clock
from devplans.film.clock import MOST_PERIODS, ClockError
from devplans.film.marks import clock_marks, rules_of
from devplans.film.models import ClockMark, Film
from devplans.film.times import told
from devplans.people import access
from devplans.people.access import Action

SHORTEST_S = 60
LONGEST_S = 30 * 60


@transaction.atomic
def put_clock_mark(
    *, actor: Any, film: Film, mark_id: UUID, film_ms: int, period: int, clock_s: Decimal
) -> ClockMark:
    """Say what the game clock showed at a film time, or change the mark of that id.

    The page makes the id, so that a request that is sent twice marks once. clock_s: seconds left.
    Raises PermissionDenied, and DomainError with the codes of `clock.check_mark` or
    "clock.elsewhere" (that id is another film's).
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    Film.objects.select_for_update().get(pk=film.pk)
    row = ClockMark.objects.filter(pk=mark_id).first()
    if row is not None and row.film_id != film.pk:
        raise DomainError("clock.elsewhere", _("That clock mark is of another film."))
    wanted = (film_ms, period, clock_s)
    if row is not None and (row.film_ms, row.period, row.clock_s) == wanted:
        return row
    others = ClockMark.objects.of_film(film).exclude(pk=mark_id)
    known = list(others.values_list("film_ms", "period", "clock_s"))
    try:
        clock.check_mark(known, wanted, rules=rules_of(film), duration_ms=film.duration_ms)
    except ClockError as error:
        raise _refused(error) from error
    is_new = row is None
    row = row or ClockMark(pk=mark_id, film=film)
    row.film_ms, row.period, row.clock_s = wanted
    row.save(force_insert=is_new)
    verb = "film.clock_marked" if is_new else "film.clock_changed"
    audit.record(actor, verb, row, club_id=film.squad.season.club_id)
    return row


@transaction.atomic
def delete_clock_mark(*, actor: Any, film: Film, mark_id: UUID) -> None:
    """Take a clock mark off a film; nothing where it is gone already. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, film.squad)
    for row in ClockMark.objects.of_film(film).filter(pk=mark_id):
        audit.record(actor, "film.clock_deleted", row, club_id=film.squad.season.club_id)
        row.delete()


@transaction.atomic
def set_periods(
    *,
    actor: Any,
    film: Film,
    period_count: int | None,
    period_s: int | None,
    overtime_s: int | None,
) -> Film:
    """Give a film periods of its own, as youth games have them; all None: the club's rule set.

    Lengths are seconds. Raises PermissionDenied, and DomainError "periods.count",
    "periods.length", or the code of the first clock mark that would be impossible then.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    film.period_count, film.period_s, film.overtime_s = None, None, None
    if period_count and period_s and overtime_s:
        _check_periods(period_count, period_s, overtime_s)
        film.period_count, film.period_s, film.overtime_s = period_count, period_s, overtime_s
    rules = rules_of(film)
    try:
        clock.check_marks(clock_marks(film), rules=rules, duration_ms=film.duration_ms)
    except ClockError as error:
        raise _refused(error) from error
    film.save(update_fields=["period_count", "period_s", "overtime_s", "updated_at"])
    audit.record(actor, "film.periods_set", film, club_id=film.squad.season.club_id)
    return film


def _check_periods(period_count: int, period_s: int, overtime_s: int) -> None:
    if not 1 <= period_count <= MOST_PERIODS:
        message = _("A game has one to %(most)s periods.") % {"most": MOST_PERIODS}
        raise DomainError("periods.count", message, field="period_count")
    for name, seconds in (("period_s", period_s), ("overtime_s", overtime_s)):
        if not SHORTEST_S <= seconds <= LONGEST_S:
            message = _("A period takes one to thirty minutes.")
            raise DomainError("periods.length", message, field=name)


def _refused(error: ClockError) -> DomainError:
    """The sentence for what no game clock does."""
    facts = dict(error.facts)
    if "mark_ms" in facts:
        facts["where"] = told(facts["mark_ms"])
    later = bool(facts.get("is_later"))
    sentences = {
        "clock.film_time": _("That moment is not in the film."),
        "clock.period": _(
            "There is no such period: this game has %(periods)s, and overtimes after them."
        ),
        "clock.negative": _("The clock never shows less than nothing."),
        "clock.too_long": _(
            "In %(period)s the clock starts at %(length)s, so it cannot show more. For other "
            "lengths, set the periods of this game."
        ),
        "clock.same_moment": _("This very frame has a clock mark. Change or delete that one."),
        "clock.period_order": _(
            "The film shows %(mark)s at %(where)s already, and periods do not go back."
        )
        if not later
        else _("The film shows %(mark)s only later, at %(where)s, and periods do not go back."),
        "clock.goes_up": _("At %(where)s before it the clock shows %(mark)s, and it never goes up.")
        if not later
        else _("At %(where)s after it the clock shows %(mark)s, and it never goes up."),
        "clock.too_fast": _(
            "From this to the mark %(mark)s at %(where)s the clock runs %(ran)s, but the film only "
            "%(passed)s. One of the two is misread."
        ),
    }
    fields = {"clock.film_time": "film_ms", "clock.same_moment": "film_ms"}
    fields |= {"clock.period": "period", "clock.period_order": "period"}
    field = fields.get(error.code, "clock_s")
    return DomainError(error.code, sentences[error.code] % facts, field=field)
