"""Who may see and do what: the only place where a right is written down. Imports no models.

Three anchors: Club, Squad, Player. `PATHS` says how a role reaches an anchor; `POLICY` says which
roles may do an action. `reach` narrows lists, `require` guards services; both read the same tables.
"""

from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Model, Q
from django.utils import timezone


class Role(StrEnum):
    PLAYER = "player"
    GUARDIAN = "guardian"
    COACH = "coach"
    DIRECTOR = "director"
    WELFARE = "welfare"


STAFF = (Role.COACH, Role.DIRECTOR, Role.WELFARE)


class Action(StrEnum):
    READ = "read"
    RUN_CLUB = "run the club"
    READ_ROSTER = "read the roster of a squad, with contacts"
    KEEP_ROSTER = "keep the roster of a squad"
    COACH_SQUAD = "coach the squad"
    COACH_PLAYER = "coach the player"
    KEEP_CALENDAR = "keep the calendar"
    KEEP_CATALOGUE = "keep the club's own skills and drills"
    INVITE = "invite people of a squad"
    RECORD_CONSENT = "record a consent from paper"
    GIVE_CONSENT = "give or withdraw a consent"
    LOG_WORKOUT = "log a workout"
    TELL_HOURS = "tell of training elsewhere"
    ANSWER = "answer a delivery"
    FOLLOW_PLAYER = "have the dates and the work of a player in a calendar"
    SHOW_CODE = "show a code that signs a player's phone in"
    KEEP_PHONES = "see a player's phones and end them"


R = Role
POLICY: dict[Action, tuple[Role, ...]] = {
    Action.READ: tuple(Role),
    Action.RUN_CLUB: (R.DIRECTOR,),
    Action.READ_ROSTER: STAFF,
    Action.KEEP_ROSTER: (R.COACH, R.DIRECTOR),
    Action.COACH_SQUAD: (R.COACH,),
    Action.COACH_PLAYER: (R.COACH,),
    Action.KEEP_CALENDAR: (R.COACH, R.DIRECTOR),
    Action.KEEP_CATALOGUE: (R.COACH, R.DIRECTOR),
    Action.INVITE: (R.COACH, R.DIRECTOR),
    Action.RECORD_CONSENT: (R.DIRECTOR,),
    Action.GIVE_CONSENT: (R.GUARDIAN, R.PLAYER),
    Action.LOG_WORKOUT: (R.PLAYER, R.GUARDIAN, R.COACH),
    Action.TELL_HOURS: (R.PLAYER, R.GUARDIAN),
    Action.ANSWER: (R.PLAYER, R.GUARDIAN),
    Action.FOLLOW_PLAYER: (R.PLAYER, R.GUARDIAN),
    Action.SHOW_CODE: (R.GUARDIAN, R.COACH),
    Action.KEEP_PHONES: tuple(Role),
}


def current(prefix: str) -> Q:
    """Dated rows that hold today; `prefix` is the path to them, ending in two underscores."""
    today = timezone.now().date()
    started = Q(**{f"{prefix}since__lte": today})
    return started & (Q(**{f"{prefix}until": None}) | Q(**{f"{prefix}until__gte": today}))


def _member(path: str, user: Any, role: Role) -> Q:
    return Q(**{f"{path}user": user.pk, f"{path}role": role}) & current(path)


def _in_squad(path: str, user: Any, role: Role) -> Q:
    if role == R.PLAYER:
        placed = Q(**{f"{path}squadplayers__player__user": user.pk})
        return placed & current(f"{path}squadplayers__")
    guardians = f"{path}squadplayers__player__guardianships__"
    if role == R.GUARDIAN:
        return (
            Q(**{f"{guardians}user": user.pk})
            & current(guardians)
            & current(f"{path}squadplayers__")
        )
    if role == R.COACH:
        return _member(f"{path}memberships__", user, role)
    return _member(f"{path}season__club__memberships__", user, role)


def _to_club(user: Any, role: Role) -> Q:
    if role == R.PLAYER:
        return Q(players__user=user.pk)
    if role == R.GUARDIAN:
        return Q(players__guardianships__user=user.pk) & current("players__guardianships__")
    return _member("memberships__", user, role)


def _to_player(user: Any, role: Role) -> Q:
    if role == R.PLAYER:
        return Q(user=user.pk)
    if role == R.GUARDIAN:
        return Q(guardianships__user=user.pk) & current("guardianships__")
    if role == R.COACH:
        squads = "squadplayers__squad__memberships__"
        return _member(squads, user, role) & current("squadplayers__")
    return _member("club__memberships__", user, role)


def _to_squad(user: Any, role: Role) -> Q:
    return _in_squad("", user, role)


PATHS = {"club": _to_club, "squad": _to_squad, "player": _to_player}


def reach(user: Any, model: type[Model], roles: Iterable[Role] = tuple(Role)) -> Q:
    """The rows of an anchor (Club, Squad, Player) that `user` reaches in one of `roles`, as a Q.

    Put it into a sub-select (`visible_to` does): the joins would repeat rows.
    """
    path = PATHS[model._meta.model_name or ""]
    found = Q(pk__in=[])
    if not getattr(user, "is_authenticated", False):
        return found
    for role in roles:
        found |= Q(pk__in=model._base_manager.filter(path(user, role)).values("pk"))
    return found


def allows(user: Any, action: Action, anchor: Model) -> bool:
    """May `user` do `action` to `anchor` (a Club, Squad or Player)?"""
    if not getattr(user, "is_authenticated", False):
        return False
    model = type(anchor)
    return model._base_manager.filter(reach(user, model, POLICY[action]), pk=anchor.pk).exists()


def require(user: Any, action: Action, anchor: Model) -> None:
    """Raise PermissionDenied unless `user` may do `action` to `anchor`."""
    if not allows(user, action, anchor):
        raise PermissionDenied(f"{action} is not allowed")
