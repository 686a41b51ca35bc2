"""What a guardian's first page tells of each of his children."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from devplans.feedback import reading
from devplans.feedback.models import Delivery
from devplans.people.access import Role
from devplans.people.models import Consent, Player
from devplans.workouts.after.effort import asked_of, without_phone
from devplans.workouts.after.reading import Hours, hours_of
from devplans.workouts.models import Workout

LATELY = timedelta(days=14)
MOST_CLIPS = 3


@dataclass
class Child:
    """One child: the latest clips, what is talked about, which consents are missing, the hours of
    training that we know of, and workouts whose effort is asked of the family, for a child who
    cannot answer."""

    player: Player
    deliveries: list[Delivery] = field(default_factory=list)
    consents: set[str] = field(default_factory=set)
    hours: Hours | None = None
    asked: list[Workout] = field(default_factory=list)

    @property
    def latest(self) -> list[Delivery]:
        return self.deliveries[:MOST_CLIPS]

    @property
    def unopened(self) -> int:
        """How many clips the child, or for one without an account the family, has not opened."""
        standing = [one for one in self.deliveries if one.withdrawn_at is None]
        return sum(self._is_unopened(one) for one in standing)

    def _is_unopened(self, one: Delivery) -> bool:
        if self.player.user_id is None and one.opened_by_guardian_at is not None:
            return False
        return one.seen_at is None

    @property
    def talks(self) -> list[Delivery]:
        return [one for one in self.deliveries if one.reply_count]

    @property
    def lacks_film(self) -> bool:
        return Consent.Kind.FILM not in self.consents

    @property
    def lacks_pictures(self) -> bool:
        return Consent.Kind.EMAIL_PICTURES not in self.consents


def children_of(user: Any) -> list[Child]:
    """The children of `user`, in a fixed number of queries."""
    players = list(Player.objects.for_role(user, Role.GUARDIAN).select_related("club"))
    children: dict[UUID, Child] = {player.pk: Child(player) for player in players}
    lately = timezone.now() - LATELY
    rows = Delivery.objects.filter(player__in=players, sent_at__gte=lately).told()
    rows = reading.with_talk(reading.with_clips(rows)).order_by("-sent_at", "-pk")
    for delivery in rows:
        children[delivery.player_id].deliveries.append(delivery)
    valid: dict[UUID, set[str]] = defaultdict(set)
    for player_id, kind in (
        Consent.objects.valid().filter(player__in=players).values_list("player", "kind")
    ):
        valid[player_id].add(kind)
    hours = hours_of(players)
    alone = without_phone(players)
    asked = asked_of(player for player in players if player.pk in alone)
    for child in children.values():
        child.consents = valid[child.player.pk]
        child.hours = hours[child.player.pk]
        child.asked = asked[child.player.pk]
    return list(children.values())
