"""Whose turn it is to be prepared: the film that somebody waits for goes first."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.film.models import Film, FilmQuerySet

# A page that waits asks every two seconds; that it waits is written once in so long.
NOTED_EVERY = timedelta(minutes=1)
# After this nobody waits any more, and no other film gives way.
WAITED_FOR = timedelta(minutes=5)
# Who waits as well does not give way.
LEAD = 2 * NOTED_EVERY
# Before this much is done nobody knows how long the rest takes.
_LEAST_SHARE, _LEAST_S = 0.01, 5.0


def want(film: Film) -> None:
    """Note that somebody waits for this film now."""
    now = timezone.now()
    lately = Q(wanted_at__gte=now - NOTED_EVERY)
    Film.objects.unfinished().filter(pk=film.pk).exclude(lately).update(wanted_at=now)


def in_turn(films: FilmQuerySet) -> FilmQuerySet:
    """The one wanted last first, then the shortest, then the oldest."""
    return films.order_by(F("wanted_at").desc(nulls_last=True), "size_bytes", "created_at")


def next_id() -> UUID | None:
    """The film to be prepared now."""
    return in_turn(Film.objects.claimable(timezone.now())).values_list("pk", flat=True).first()


def gives_way(film_id: UUID) -> bool:
    """Does somebody wait for another film, and nobody for this one?"""
    now = timezone.now()
    wanted_at = Film.objects.filter(pk=film_id).values_list("wanted_at", flat=True).first()
    since = now - WAITED_FOR
    if wanted_at is not None:
        since = max(since, wanted_at + LEAD)
    return Film.objects.claimable(now).exclude(pk=film_id).filter(wanted_at__gt=since).exists()


def ahead_of(film: Film) -> int | None:
    """How many films are prepared before this one; None where it does not wait."""
    if film.state != Film.State.WAITING:
        return None
    now = timezone.now()
    waiting = Film.objects.claimable(now) | Film.objects.filter(pk=film.pk)
    order = list(in_turn(waiting).values_list("pk", flat=True))
    worked_on = Film.objects.filter(state=Film.State.PREPARING, lease_until__gte=now).count()
    return order.index(film.pk) + worked_on


def left_s(film: Film, *, now: datetime | None = None) -> float | None:
    """About how many seconds the preparing still takes, by its pace so far; None: not known yet."""
    if film.state != Film.State.PREPARING or film.begun_at is None:
        return None
    done = film.progress - film.begun_share
    passed = ((now or timezone.now()) - film.begun_at).total_seconds()
    if done < _LEAST_SHARE or passed < _LEAST_S:
        return None
    return (1 - film.progress) * passed / done


def words_of(film: Film) -> str:
    """When it is this film's turn, or about how long its preparing still takes; "" unknown."""
    ahead = ahead_of(film)
    if ahead is not None:
        if not ahead:
            return _("It is next.")
        words = ngettext(
            "%(count)s film is prepared before it.",
            "%(count)s films are prepared before it.",
            ahead,
        )
        return words % {"count": ahead}
    left = left_s(film)
    if left is None:
        return ""
    minutes = -int(-left // 60)
    if minutes <= 1:
        return _("Less than a minute left.")
    return _("About %(count)s minutes left.") % {"count": minutes}
