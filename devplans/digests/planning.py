"""When a club's digests are due, and who gets one. Knows nothing of what they say."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from devplans.people.models import (
    Club,
    Guardianship,
    MailChoice,
    Membership,
    Player,
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


def _playing(club: Club) -> set[UUID]:
    places = SquadPlayer.objects.current().filter(squad__season__club=club)
    return set(places.values_list("player_id", flat=True))


def _players(club: Club) -> list[Addressee]:
    rows = Player.objects.filter(pk__in=_playing(club), user__email__isnull=False)
    players = rows.select_related("user")
    return [Addressee(player.user, "player", player.pk) for player in players]


def _guardians(club: Club) -> list[Addressee]:
    rows = Guardianship.objects.current().filter(player__in=_playing(club)).select_related("user")
    users = {row.user_id: row.user for row in rows}
    return [Addressee(user, "guardian", user.pk) for user in users.values()]


def _coaches(club: Club) -> list[Addressee]:
    rows = Membership.objects.current().filter(club=club, role="coach").select_related("user")
    return [
        Addressee(user, "coach", squad)
        for user, squad in {(row.user, row.squad_id) for row in rows}
    ]


def _directors(club: Club) -> list[Addressee]:
    rows = Membership.objects.current().filter(club=club, role="director").select_related("user")
    return [Addressee(user, "director", club.pk) for user in {row.user for row in rows}]
