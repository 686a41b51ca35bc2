"""Mails that say who can read a child's pages: about safety, so they cannot be switched off."""

from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.mail import queue_message
from devplans.people import lookups
from devplans.people.models import Phone, PhoneCode, Player, User

KIND = "phone"


def who_is_told(player: Player, *, shown_by: Any) -> list[User]:
    """The guardians of a minor, else the club's second adult, who is not the one with the code;
    an adult player himself, where he has an address."""
    if not player.is_minor():
        user = player.user
        return [user] if user and user.is_active and user.email else []
    return lookups.guardians_of(player) or lookups.second_adults(player.club, except_user=shown_by)


def tell_of_code(code: PhoneCode) -> None:
    """A coach shows a code: say so, at most once an hour, to all but the one who shows it."""
    hour = timezone.now().strftime("%Y%m%d%H")
    for reader in who_is_told(code.player, shown_by=code.shown_by):
        if reader.pk != code.shown_by_id:
            _queue(
                "phone_code",
                reader,
                code.player,
                key=f"people.code:{code.player_id}:{code.shown_by_id}:{hour}:{reader.pk}",
                subject=_("A code for a phone of %(name)s"),
                who=code.shown_by.full_name,
            )


def tell_of_phone(phone: Phone, told: list[User]) -> None:
    """A phone has joined: say so to everybody, the one who showed the code as well."""
    for reader in told:
        _queue(
            "phone_joined",
            reader,
            phone.player,
            key=f"people.phone:{phone.pk}:{reader.pk}",
            subject=_("A phone is signed in as %(name)s"),
            phone=phone,
            who=phone.shown_by.full_name if phone.shown_by else "",
        )


def _queue(
    template: str, reader: User, player: Player, *, key: str, subject: str, **words: Any
) -> None:
    link = settings.PUBLIC_URL + reverse("people:phones", args=[player.pk])
    words |= {"reader": reader, "player": player, "club": player.club, "link": link}
    words["is_own"] = player.user_id == reader.pk
    queue_message(
        key=key,
        kind=KIND,
        address=reader.email or "",
        recipient=reader,
        subject=subject % {"name": player.first_name},
        text=render_to_string(f"people/email/{template}.txt", words),
        club_id=player.club_id,
        player_id=player.pk,
    )
