"""Whether a delivery may reach a player, and who would read it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.people import consent, lookups
from devplans.people.models import Club, Consent, Guardianship, Player, User


@dataclass
class Standing:
    """What stands for one player today."""

    player: Player
    has_consent: bool
    guardianships: list[Guardianship] = field(default_factory=list)
    second_adults: list[User] = field(default_factory=list)

    def without(self, *user_ids: UUID | None) -> "Standing":
        """The same, were these people no second adults: nobody is one for his own words."""
        adults = [adult for adult in self.second_adults if adult.pk not in user_ids]
        return replace(self, second_adults=adults)

    @property
    def lacks_adult(self) -> bool:
        return self.player.is_minor() and not self.guardianships and not self.second_adults

    @property
    def can_get(self) -> bool:
        return self.has_consent and not self.lacks_adult

    @property
    def lacks(self) -> list[str]:
        """What is missing, in sentences for the coach."""
        name = {"name": self.player.full_name}
        found = []
        if not self.has_consent:
            found.append(_("%(name)s has no consent to film.") % name)
        if self.lacks_adult:
            found.append(
                _("%(name)s is a minor with no guardian, and the club has no second adult.") % name
            )
        return found


def standing_of(players: Iterable[Player], *, club: Club, author: Any) -> dict[UUID, Standing]:
    """What stands for each of `players`, in a fixed number of queries.

    author: who sends; he cannot be the second adult himself.
    """
    everyone = list({player.pk: player for player in players}.values())
    agreed = consent.given_for(everyone, Consent.Kind.FILM)
    rows = Guardianship.objects.current().filter(player__in=everyone, user__is_active=True)
    behind: dict[UUID, list[Guardianship]] = defaultdict(list)
    for row in rows.select_related("user").order_by("since", "created_at"):
        behind[row.player_id].append(row)
    alone = [one for one in everyone if one.is_minor() and not behind[one.pk]]
    second = lookups.second_adults(club, except_user=author) if alone else []
    return {
        one.pk: Standing(one, one.pk in agreed, behind[one.pk], second if one in alone else [])
        for one in everyone
    }
