from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from devplans.core.models import Row
from devplans.people.access import Role
from devplans.people.models import Club, Player, Squad


class ThreadQuerySet(models.QuerySet["Thread"]):
    def visible_to(self, user: Any) -> "ThreadQuerySet":
        """The player's own and his guardians', his squad's coaches', and the club's directors' and
        welfare officers'. Members are computed from people's roles, never chosen."""
        return self.filter(
            Q(player__in=Player.objects.for_role(user, Role.PLAYER, Role.GUARDIAN))
            | Q(squad__in=Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR, Role.WELFARE))
        )


class Thread(Row):
    """The talk about one thing of one player; a delivery shares its key."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="threads")
    squad = models.ForeignKey(Squad, on_delete=models.CASCADE, related_name="threads")
    player = models.ForeignKey(Player, on_delete=models.CASCADE, related_name="threads")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects = ThreadQuerySet.as_manager()

    def __str__(self) -> str:
        return f"Thread of {self.player}"


class Reply(Row):
    thread = models.ForeignKey(Thread, on_delete=models.CASCADE, related_name="replies")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    text = models.TextField()
    is_question = models.BooleanField(default=False)
    answered_at = models.DateTimeField(null=True, help_text="When a coach replied after it.")

    class Meta:
        ordering = ["created_at"]

    def __str__(self) -> str:
        return self.text[:40]
