"""Questions about people that other apps ask: who stands behind a player, who holds which role."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from devplans.people import access, consent
from devplans.people.access import Role
from devplans.people.models import Club, Consent, Player, Squad, SquadPlayer, User


def guardians_of(player: Player) -> list[User]:
    """The accounts that are guardians of `player` today, the longest first."""
    rows = player.guardianships.current().filter(user__is_active=True).select_related("user")
    return list(dict.fromkeys(row.user for row in rows.order_by("since", "created_at")))


def second_adults(club: Club, *, except_user: Any = None) -> list[User]:
    """Who stands in where a minor has no guardian: the welfare officers, else directors.

    except_user: the author of what is sent; he cannot be his own second adult.
    """
    author = getattr(except_user, "pk", None)
    for role in (Role.WELFARE, Role.DIRECTOR):
        rows = (
            club.memberships.current().filter(role=role, user__is_active=True).exclude(user=author)
        )
        found = list(
            dict.fromkeys(
                row.user for row in rows.select_related("user").order_by("since", "created_at")
            )
        )
        if found:
            return found
    return []


def roles_of(user: Any) -> set[Role]:
    """The roles that `user` holds today, in any club."""
    if not getattr(user, "is_authenticated", False):
        return set()
    held = {Role(role) for role in user.memberships.current().values_list("role", flat=True)}
    if user.guardianships.current().exists():
        held.add(Role.GUARDIAN)
    if user.players.exists():
        held.add(Role.PLAYER)
    return held


def squads_of(player: Player, day: date | None = None) -> list[Squad]:
    """The squads that `player` is in on `day` (today), the latest joined first."""
    rows = player.squadplayers.on(day) if day else player.squadplayers.current()
    rows = rows.select_related("squad__season__club").order_by("-since", "-created_at")
    return list(dict.fromkeys(row.squad for row in rows))


def number_on(player: Player, squad: Squad, day: date) -> str:
    """The number of `player` in `squad` on `day`; empty where he had none or was not in it."""
    row = (
        SquadPlayer.objects.on(day)
        .filter(player=player, squad=squad)
        .order_by("-since", "-created_at")
        .first()
    )
    return row.number if row else ""


def numbers_in(squad: Squad, day: date | None = None) -> dict[Any, str]:
    """Number by player id for everybody who is in `squad` on `day` (today)."""
    rows = squad.squadplayers.on(day) if day else squad.squadplayers.current()
    return dict(rows.order_by("since", "created_at").values_list("player_id", "number"))


def coaches_of(squad: Squad) -> list[User]:
    """The coaches of `squad` today."""
    rows = (
        squad.memberships.current()
        .filter(role=Role.COACH, user__is_active=True)
        .select_related("user")
    )
    return list(dict.fromkeys(row.user for row in rows.order_by("since", "created_at")))


def wants_mail(user: Any, kind: str) -> bool:
    """Has `user` left mails of `kind` switched on?"""
    return not user.mail_choices.filter(kind=kind).exists()


def players_behind(user: Any) -> list[Player]:
    """The players whom `user` is a guardian of today."""
    return list(Player.objects.for_role(user, Role.GUARDIAN).distinct())


def staff_of(club: Club, roles: Iterable[Role] = access.STAFF) -> list[Any]:
    """Memberships of `club` that hold today in one of `roles`, with their people."""
    rows = club.memberships.current().filter(role__in=list(roles)).select_related("user", "squad")
    return list(rows.order_by("role", "user__first_name"))


def has_second_factor(user: Any) -> bool:
    """Has `user` set up a second factor? Spare codes alone are none."""
    return user.authenticator_set.filter(type="totp").exists()


def held_roles(user: Any) -> list[str]:
    """What `user` is, in words: "coach of Under 16", "guardian of Inès Okafor"."""
    found = []
    rows = user.memberships.current().select_related("club", "squad").order_by("since")
    for row in rows:
        words = {"role": row.get_role_display(), "place": row.squad or row.club}
        found.append(_("%(role)s, %(place)s") % words)
    for player in players_behind(user):
        found.append(_("guardian of %(name)s") % {"name": player.full_name})
    for player in user.players.select_related("club"):
        words = {"name": player.full_name, "club": player.club}
        found.append(_("player: %(name)s, %(club)s") % words)
    return found


@dataclass(frozen=True)
class Waiting:
    """One player from the side of the family: what has to be there before anything can arrive."""

    player: Player
    is_own: bool
    has_adult: bool
    has_consent: bool


def waiting_for(user: Any) -> list[Waiting]:
    """The own players and children of `user`, with what is still missing."""
    own = list(user.players.select_related("club"))
    found = []
    for player in [*own, *players_behind(user)]:
        adults = guardians_of(player) or second_adults(player.club)
        found.append(
            Waiting(
                player=player,
                is_own=player in own,
                has_adult=not player.is_minor() or bool(adults),
                has_consent=consent.given(player, Consent.Kind.FILM),
            )
        )
    return found
