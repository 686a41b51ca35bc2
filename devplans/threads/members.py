"""Who is on a thread. Computed from people's roles, never chosen."""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from devplans.people import lookups
from devplans.people.models import Guardianship, Player, User
from devplans.threads.models import Thread


@dataclass(frozen=True)
class Members:
    """The people who read a thread as their own; directors and welfare officers may look in."""

    player: Player
    coaches: list[User]
    guardianships: list[Guardianship] = field(default_factory=list)
    second_adults: list[User] = field(default_factory=list)

    @property
    def guardians(self) -> list[User]:
        return [row.user for row in self.guardianships]

    @property
    def is_safe(self) -> bool:
        """Is there an adult beside the coach, where the player is a minor?"""
        return not self.player.is_minor() or bool(self.guardianships or self.second_adults)


def coach_name(user: User | None) -> str:
    """A coach as players call him."""
    if user is None:
        return _("Your coach")
    return _("Coach %(name)s") % {"name": user.first_name}


def members_of(thread: Thread) -> Members:
    """Player, guardians, coaches; a second adult where a minor has no guardian."""
    player = thread.player
    rows = player.guardianships.current().filter(user__is_active=True).select_related("user")
    guardianships = list(rows.order_by("since", "created_at"))
    second: list[User] = []
    if player.is_minor() and not guardianships:
        second = lookups.second_adults(thread.club, except_user=thread.author)
    return Members(player, lookups.coaches_of(thread.squad), guardianships, second)
