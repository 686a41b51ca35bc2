"""Who may be signed in on a phone, by which code, and for how long."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.people import access, codes, lookups, phone_notices
from devplans.people.access import Action, Role
from devplans.people.links import hash_of
from devplans.people.models import PhoneCode, Player, User

LONGEST = timedelta(days=365)


def open_code(secret: str) -> PhoneCode:
    """The code that a phone has read, if it can still be taken; nothing is written.

    Raises DomainError "code.slip" (signs that cannot be one), "code.unknown", "code.used",
    "code.expired" or "code.revoked".
    """
    try:
        secret = codes.tidy(secret)
    except ValueError:
        message = _("There is a slip in the code. Compare it sign by sign with the screen.")
        raise DomainError("code.slip", message, field="code") from None
    rows = PhoneCode.objects.filter(code_hash=hash_of(secret))
    code = rows.select_related("player__club", "player__user", "shown_by").first()
    if code is None:
        message = _("This is not a code of ours. Ask for a new one and type it from the screen.")
        raise DomainError("code.unknown", message, field="code")
    reasons = [
        ("used", code.used_at, _("This code was used already: each signs in one phone.")),
        ("revoked", code.revoked_at, _("This code does not hold any more: a newer one was shown.")),
        ("expired", code.expires_at <= timezone.now(), _("This code has run out.")),
    ]
    for name, holds, message in reasons:
        if holds:
            raise DomainError(f"code.{name}", message, field="code")
    _check_still_holds(code)
    return code


def _check_still_holds(code: PhoneCode) -> None:
    """Whoever showed it must still be allowed to, and the player must still be able to join."""
    message = _("This code does not hold any more. Ask a guardian or coach for a new one.")
    if not code.shown_by.is_active or not access.allows(
        code.shown_by, Action.SHOW_CODE, code.player
    ):
        raise DomainError("code.revoked", message, field="code")
    try:
        check_can_join(code.player, shown_by=code.shown_by)
    except DomainError:
        raise DomainError("code.revoked", message, field="code") from None


def check_can_join(player: Player, *, shown_by: User) -> None:
    """Raises DomainError "phone.season", "phone.account" or "phone.guardian" where no phone can be
    signed in as `player`."""
    words = {"name": player.first_name}
    if season_end(player) is None:
        message = _(
            "%(name)s is in no squad of a running season, so there is no season to sign in for. "
            "A coach or director takes %(name)s into a squad first."
        )
        raise DomainError("phone.season", message % words)
    if player.user and holds_more(player.user):
        message = _(
            "%(name)s has an account with more rights than a player's, or one that is closed: "
            "such an account signs in by email."
        )
        raise DomainError("phone.account", message % words)
    if player.is_minor() and not phone_notices.who_is_told(player, shown_by=shown_by):
        message = _(
            "%(name)s is under 18 and no guardian is linked, and the club has no second adult who "
            "would be told. Invite a guardian first."
        )
        raise DomainError("phone.guardian", message % words)


def holds_more(user: User) -> bool:
    """Has this account rights beyond a player's, or is it closed?"""
    more = lookups.roles_of(user) - {Role.PLAYER}
    return bool(more) or user.is_staff or user.is_superuser or not user.is_active


def season_end(player: Player) -> datetime | None:
    """The last moment of the season that `player` plays in, or of his last day in it, in the club's
    zone; None for none."""
    places = player.squadplayers.current().select_related("squad__season")
    days = [min(place.until or date.max, place.squad.season.ends_on) for place in places]
    last = max((day for day in days if day >= today()), default=None)
    if last is None:
        return None
    return datetime.combine(last + timedelta(days=1), time.min, ZoneInfo(player.club.zone))


def ends_at(player: Player) -> datetime:
    """When a phone that joins now is signed out by itself."""
    longest = timezone.now() + LONGEST
    return min(season_end(player) or longest, longest)


def are_family(one: Player, other: Player) -> bool:
    """Do two players share a guardian today, or an account?"""
    if one.user_id is not None and one.user_id == other.user_id:
        return True
    theirs = other.guardianships.current().values("user")
    return one.guardianships.current().filter(user__in=theirs).exists()
