"""What the page for logging hands to its script: players, drills, and the club's half court."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.stats.court import MIDDLE_DEG
from devplans.stats.court_lines import court_lines
from devplans.stats.court_places import zone_places
from devplans.stats.court_spots import Spot, spots_of
from devplans.workouts.shooting import words

MOST_AT_ONE_BASKET = 12
# On a page that a phone keeps, from which the script takes those of its address.
MOST_KEPT = 40


@dataclass(frozen=True)
class Place:
    """A player's place in a squad, as the list to choose from shows it."""

    player: Player
    number: str
    is_chosen: bool


def court_for_script(rules: str, drills: Iterable[str]) -> dict[str, Any]:
    """Lines in millimetres, the names of zones and spots, and places to choose without tapping."""
    lines = court_lines(rules)
    spots = {slug: [asdict(spot) for spot in spots_of(slug, rules=rules)] for slug in drills}
    return {
        "lines": asdict(lines)
        | {"half_length": lines.half_length, "arc_break": lines.arc_break, "middle": MIDDLE_DEG},
        "zones": {name: str(said) for name, said in words.ZONES.items()},
        "spots": {slug: [_named(spot) for spot in found] for slug, found in spots.items() if found},
        "places": [_place(spot) for spot in zone_places(rules)],
    }


def player_for_script(player: Player, *, name: str = "") -> dict[str, str]:
    return {"id": str(player.pk), "name": name, "hand": player.hand}


def places(
    user: Any, squad: Squad, asked: Iterable[str], *, most: int = MOST_AT_ONE_BASKET
) -> list[Place]:
    """Players of the squad today whom the user may log for, by number; `asked`: keys as text, of
    which the first `most` count."""
    wanted = set(list(asked)[:most])
    loggable = Player.objects.allowing(user, Action.LOG_WORKOUT)
    here = squad.squadplayers.current().filter(player__in=loggable).select_related("player__club")
    found = [Place(row.player, row.number, str(row.player_id) in wanted) for row in here]
    return sorted(found, key=lambda place: (place.number.zfill(3), place.player.full_name))


def named(players: list[Player]) -> list[Any]:
    """The players with a `short_name` each: the first name, where that tells them apart."""
    firsts = [player.first_name for player in players]
    for player in players:
        is_clear = firsts.count(player.first_name) == 1
        player.short_name = player.first_name if is_clear else player.full_name
    return players


def _named(spot: dict[str, Any]) -> dict[str, Any]:
    return spot | {"words": str(words.SPOTS[spot["name"]])}


def _place(spot: Spot) -> dict[str, Any]:
    return asdict(spot) | {"words": str(words.ZONES[spot.name])}
