"""Phones that a child signs in on by a code, without address or password."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access, codes, phone_notices
from devplans.people.access import Action
from devplans.people.links import hash_of
from devplans.people.models import Phone, PhoneCode, Player, User
from devplans.people.phone_rules import (
    are_family,
    check_can_join,
    ends_at,
    open_code,
    season_end,
)

CODE_LIFE = timedelta(minutes=10)
# A coach may take a whole squad in at one practice, and some of them twice.
CODES_AN_HOUR = 60
FORGOTTEN_AFTER = timedelta(days=30)


@dataclass(frozen=True)
class Joined:
    """What came of a code: the new phone, and who else stays signed in on it."""

    phone: Phone
    staying: list[Phone] = field(default_factory=list)


@transaction.atomic
def show_code(*, actor: User, player: Player) -> tuple[PhoneCode, str]:
    """A new code for one phone of `player`, good for `CODE_LIFE` and once; the code itself is
    kept nowhere. The one that `actor` showed before does not hold any more.

    Raises PermissionDenied, and DomainError "code.too_many", or "phone.…" where nobody may join.
    """
    access.require(actor, Action.SHOW_CODE, player)
    check_can_join(player, shown_by=actor)
    now = timezone.now()
    mine = PhoneCode.objects.filter(shown_by=actor)
    if mine.filter(created_at__gt=now - timedelta(hours=1)).count() >= CODES_AN_HOUR:
        message = _("That were very many codes within an hour. Please wait a little.")
        raise DomainError("code.too_many", message)
    mine.open().filter(player=player).update(revoked_at=now)
    _forget_old(player, now)
    secret = codes.new_code()
    code = PhoneCode.objects.create(
        player=player, shown_by=actor, code_hash=hash_of(secret), expires_at=now + CODE_LIFE
    )
    audit.record(
        actor, "people.phone_code_shown", code, club_id=player.club_id, player_id=player.pk
    )
    if not player.guardianships.current().filter(user=actor).exists():
        phone_notices.tell_of_code(code)
    return code, secret


def _forget_old(player: Player, now: datetime) -> None:
    """The audit remembers; rows of the past are of no use to anybody."""
    then = now - FORGOTTEN_AFTER
    player.phone_codes.filter(expires_at__lt=then).delete()
    player.phones.filter(expires_at__lt=then).delete()
    player.phones.filter(ended_at__lt=then).delete()


@transaction.atomic
def join_phone(*, secret: str, name: str, beside: Iterable[Phone] = ()) -> Joined:
    """Sign a phone in as the player of a code, until the season's end or for a year at most. The
    player gets an account where he has none. Of two phones that try at once, one gets it.

    There is no actor: whoever holds the code has seen it on the screen.
    name: words for the phone. beside: who is signed in on this phone; brothers and sisters stay,
    other families' players and the same player's former row are ended.
    Raises DomainError as `open_code` does.
    """
    code = open_code(secret)
    if not PhoneCode.objects.open().filter(pk=code.pk).update(used_at=timezone.now()):
        message = _("This code was used already: each signs in one phone.")
        raise DomainError("code.used", message, field="code")
    player = Player.objects.select_for_update().get(pk=code.player_id)
    user = player.user or _make_account(player, code.shown_by)
    phone = Phone.objects.create(
        player=player,
        user=user,
        name=name[:80],
        shown_by=code.shown_by,
        expires_at=ends_at(player),
    )
    PhoneCode.objects.filter(pk=code.pk).update(phone=phone)
    staying = []
    for other in beside:
        if other.player_id != player.pk and are_family(other.player, player):
            staying.append(other)
        else:
            _end(other, user, reason="replaced")
    audit.record(
        user,
        "people.phone_joined",
        phone,
        club_id=player.club_id,
        player_id=player.pk,
        name=phone.name,
        shown_by=str(code.shown_by_id),
    )
    told = phone_notices.who_is_told(player, shown_by=code.shown_by)
    phone_notices.tell_of_phone(phone, told)
    return Joined(phone, staying)


def _make_account(player: Player, shown_by: User) -> User:
    user = User(
        email=None,
        first_name=player.first_name,
        last_name=player.last_name,
        is_demo=shown_by.is_demo,
    )
    user.set_unusable_password()
    user.save(force_insert=True)
    player.user = user
    player.save(update_fields=["user", "updated_at"])
    return user


@transaction.atomic
def end_phone(*, actor: User, phone: Phone) -> Phone:
    """Sign a phone out: its session is dead at the next request. Twice changes nothing."""
    access.require(actor, Action.KEEP_PHONES, phone.player)
    _end(phone, actor)
    return phone


@transaction.atomic
def end_phones(*, actor: User, player: Player) -> int:
    """Sign all phones of `player` out, how many they were; no code that is shown now holds."""
    access.require(actor, Action.KEEP_PHONES, player)
    player.phone_codes.open().update(revoked_at=timezone.now())
    rows = list(Phone.objects.standing().filter(player=player))
    for phone in rows:
        _end(phone, actor)
    return len(rows)


def end_phones_of_leaver(*, actor: User, player: Player) -> None:
    """Phones last no longer than the player's place: with none left they are signed out now and no
    code holds; with a last day ahead they end with it. Called by whatever ends a place."""
    last = season_end(player)
    standing = Phone.objects.standing().filter(player=player)
    if last is not None:
        standing.filter(expires_at__gt=last).update(expires_at=last)
        return
    player.phone_codes.open().update(revoked_at=timezone.now())
    for phone in standing.select_related("player"):
        _end(phone, actor, reason="left")


def end_phones_shown_by(*, actor: User, user: User) -> int:
    """Sign out what joined by codes of `user`, where he may not show one any more: whoever had a
    child's code in his hands may have used it himself. How many they were."""
    rows = Phone.objects.standing().filter(shown_by=user).select_related("player")
    lost = [one for one in rows if not access.allows(user, Action.SHOW_CODE, one.player)]
    for phone in lost:
        _end(phone, actor, reason="shown_by")
    return len(lost)


def _end(phone: Phone, actor: User, *, reason: str = "") -> None:
    now = timezone.now()
    if Phone.objects.filter(pk=phone.pk, ended_at=None).update(ended_at=now, ended_by=actor):
        phone.ended_at, phone.ended_by = now, actor
        audit.record(
            actor,
            "people.phone_ended",
            phone,
            club_id=phone.player.club_id,
            player_id=phone.player_id,
            **({"reason": reason} if reason else {}),
        )
