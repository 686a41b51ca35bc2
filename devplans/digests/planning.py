"""When a club's digests are due, and who gets one. Knows nothing of what they say."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from devplans.digests.models import Digest
from devplans.people import lookups
from devplans.people.models import (
    Club,
    Guardianship,
    MailChoice,
    Membership,
    Player,
    Squad,
    SquadPlayer,
    User,
)
from devplans.stats import weeks

# A digest that could not be planned for so long (server off) is left out rather than sent stale.
CATCH_UP = timedelta(days=3)
MAIL_KIND = "digest"


@dataclass(frozen=True)
class Addressee:
    """One person's digest: who gets it, as what, about which player, family, squad or club."""

    recipient: User
    kind: str
    subject: UUID


def slot(club: Club, week: weeks.Week) -> datetime:
    """The moment in `week` at which the club's digests go out, on the club's wall clock."""
    day = weeks.monday(*week) + timedelta(days=club.digest_day)
    return datetime.combine(day, time(club.digest_hour), ZoneInfo(club.zone))


def due_weeks(club: Club, now: datetime) -> list[weeks.Week]:
    """The ISO weeks whose digest is due: each slot that has passed, at most CATCH_UP ago, tells of
    the week before it."""
    this_week = weeks.week_of(now, club.zone)
    slots = [weeks.previous_week(this_week), this_week]
    return [weeks.previous_week(w) for w in slots if timedelta(0) <= now - slot(club, w) < CATCH_UP]


def addressees(club: Club) -> list[Addressee]:
    """Everybody of the club who gets a digest and has not said no to it. A guardian of several
    children gets one."""
    stopped = set(MailChoice.objects.filter(kind=MAIL_KIND).values_list("user_id", flat=True))
    found = [*_players(club), *_guardians(club), *_coaches(club), *_directors(club)]
    return [one for one in found if one.recipient.pk not in stopped and one.recipient.is_active]


def squad_names(club: Club) -> dict[UUID, str]:
    """What the squads are called: a coach of two gets a digest of each."""
    return dict(Squad.objects.filter(season__club=club).values_list("pk", "name"))


def is_addressee(digest: Digest) -> bool:
    """Does the person still get this digest, now that it is built?"""
    to = Addressee(digest.recipient, digest.kind, digest.subject)
    of_kind = {
        "player": _players,
        "guardian": _guardians,
        "coach": _coaches,
        "director": _directors,
    }
    wanted = digest.recipient.is_active and lookups.wants_mail(digest.recipient, MAIL_KIND)
    return wanted and to in of_kind[digest.kind](digest.club, digest.recipient)


def _of(rows: Any, user: User | None) -> Any:
    """Rows of one user; of everybody where none is asked for."""
    return rows if user is None else rows.filter(user=user)


def _playing(club: Club) -> QuerySet[Any]:
    places = SquadPlayer.objects.current().filter(squad__season__club=club)
    return places.values("player_id")


def _players(club: Club, only: User | None = None) -> list[Addressee]:
    rows = Player.objects.filter(pk__in=_playing(club), user__email__isnull=False)
    players = _of(rows, only).select_related("user")
    return [Addressee(player.user, "player", player.pk) for player in players]


def _guardians(club: Club, only: User | None = None) -> list[Addressee]:
    rows = Guardianship.objects.current().filter(player__in=_playing(club))
    users = {row.user_id: row.user for row in _of(rows, only).select_related("user")}
    return [Addressee(user, "guardian", user.pk) for user in users.values()]


def _coaches(club: Club, only: User | None = None) -> list[Addressee]:
    rows = Membership.objects.current().filter(club=club, role="coach")
    return [
        Addressee(user, "coach", squad)
        for user, squad in {
            (row.user, row.squad_id) for row in _of(rows, only).select_related("user")
        }
    ]


def _directors(club: Club, only: User | None = None) -> list[Addressee]:
    rows = Membership.objects.current().filter(club=club, role="director")
    users = {row.user for row in _of(rows, only).select_related("user")}
    return [Addressee(user, "director", club.pk) for user in users]
