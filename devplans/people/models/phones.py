from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Exists, F, OuterRef
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from devplans.core.days import today
from devplans.core.models import Row
from devplans.people.models.people import Guardianship, Membership, Player, User


class PhoneQuerySet(models.QuerySet["Phone"]):
    def visible_to(self, user: Any) -> "PhoneQuerySet":
        """Of the players that `user` may read."""
        return self.filter(player__in=Player.objects.visible_to(user))

    def of(self, player: Player) -> "PhoneQuerySet":
        """The phones of one player, with who showed the code."""
        return self.filter(player=player).select_related("shown_by", "player__club")

    def standing(self) -> "PhoneQuerySet":
        """Phones that are signed in now: not ended, the season not over, and the player's account
        a mere player's. Somebody who became a coach or guardian since signs in as such."""
        now = timezone.now()
        return self.filter(
            ~Exists(Membership.objects.current().filter(user=OuterRef("user"))),
            ~Exists(Guardianship.objects.current().filter(user=OuterRef("user"))),
            ended_at=None,
            expires_at__gt=now,
            user__is_active=True,
            user__is_staff=False,
            player__user=F("user"),
        )


class Phone(Row):
    """One player's place on one phone, from the code that was scanned until the season's end.

    Brothers and sisters on one phone have a row each. No address and no number of the phone is
    kept, and no more of its use than the last day.
    """

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="phones")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=80)
    shown_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")
    expires_at = models.DateTimeField()
    seen_on = models.DateField(default=today)
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(User, null=True, on_delete=models.SET_NULL, related_name="+")

    objects = PhoneQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"{self.name} of {self.player}"

    @property
    def last_day(self) -> date:
        """The last day on which it is signed in, in the club's zone."""
        last_moment = self.expires_at - timedelta(seconds=1)
        return last_moment.astimezone(ZoneInfo(self.player.club.zone)).date()


class PhoneCodeQuerySet(models.QuerySet["PhoneCode"]):
    def open(self) -> "PhoneCodeQuerySet":
        """Codes that a phone can still take."""
        return self.filter(used_at=None, revoked_at=None, expires_at__gt=timezone.now())

    def visible_to(self, user: Any) -> "PhoneCodeQuerySet":
        """The codes that `user` has shown himself, of players that he still reads."""
        return self.filter(shown_by=user.pk, player__in=Player.objects.visible_to(user))


class PhoneCode(Row):
    """A code on somebody's screen that signs one phone in, once. Only its hash is kept."""

    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="phone_codes")
    shown_by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    code_hash = models.CharField(_("hash of the code"), max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)
    phone = models.OneToOneField(Phone, null=True, on_delete=models.SET_NULL, related_name="code")

    objects = PhoneCodeQuerySet.as_manager()

    def __str__(self) -> str:
        return f"code for {self.player_id}"

    @property
    def is_open(self) -> bool:
        """Can a phone still take it?"""
        return not (self.used_at or self.revoked_at) and self.expires_at > timezone.now()
