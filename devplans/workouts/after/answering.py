"""Who answers for a player when something hurts, for many players at once."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from devplans.people.access import Role
from devplans.people.models import Guardianship, Membership, Player, User

SECOND_ADULTS = (Role.WELFARE, Role.DIRECTOR)


def answerers_of(players: Iterable[Player]) -> dict[UUID, list[User]]:
    """For each player the people who may answer, in a fixed number of queries; nobody: empty.

    An adult with an account answers himself. Else the guardians; where there is none, the second
    adult: the welfare officers, else the directors, and nobody who coaches the player.
    """
    found = {player.pk: player for player in players}
    guardians = _guardians(found)
    alone = [
        player for player in found.values() if not guardians[player.pk] and not _answers(player)
    ]
    seconds = _second_adults(alone) if alone else {}
    return {
        key: [player.user] if _answers(player) else guardians[key] or seconds.get(key, [])
        for key, player in found.items()
    }


def may_answer(user: Any, player: Player) -> bool:
    """Is `user` one of those who answer for `player`?"""
    return user.pk in {one.pk for one in answerers_of([player])[player.pk]}


def _answers(player: Player) -> bool:
    return player.user is not None and player.user.is_active and not player.is_minor()


def _guardians(players: Iterable[UUID]) -> dict[UUID, list[User]]:
    rows = Guardianship.objects.current().filter(player__in=list(players), user__is_active=True)
    found: dict[UUID, list[User]] = defaultdict(list)
    for row in rows.select_related("user").order_by("since", "created_at"):
        if row.user not in found[row.player_id]:
            found[row.player_id].append(row.user)
    return found


def _second_adults(players: list[Player]) -> dict[UUID, list[User]]:
    coaches = _coaches(players)
    rows = Membership.objects.current().filter(
        club__in={player.club_id for player in players},
        role__in=SECOND_ADULTS,
        user__is_active=True,
    )
    offices: dict[tuple[UUID, str], list[User]] = defaultdict(list)
    for row in rows.select_related("user").order_by("since", "created_at"):
        offices[row.club_id, row.role].append(row.user)
    found: dict[UUID, list[User]] = {}
    for player in players:
        for role in SECOND_ADULTS:
            held = dict.fromkeys(offices[player.club_id, role])
            found[player.pk] = [user for user in held if user.pk not in coaches[player.pk]]
            if found[player.pk]:
                break
    return found


def _coaches(players: list[Player]) -> dict[UUID, set[UUID]]:
    rows = Membership.objects.current().filter(role=Role.COACH)
    places = Player.objects.filter(pk__in=[player.pk for player in players])
    found: dict[UUID, set[UUID]] = defaultdict(set)
    coached = rows.filter(squad__squadplayers__player__in=places)
    for player_id, user_id in coached.values_list("squad__squadplayers__player", "user"):
        found[player_id].add(user_id)
    return found
