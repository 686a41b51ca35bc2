"""What every page shows around its content: the club, who is signed in, where one can go."""

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext_lazy as _

from devplans.people import handset
from devplans.people.access import Role
from devplans.people.models import Club

MOST_IN_A_BAR = 6


class Place(NamedTuple):
    """A page worth a link. `spaces`: the URL namespaces whose pages belong to it.

    `of_player`: the page carries a player in its address, here the one who is signed in.
    `pages`: further pages of it by route, whatever their address and namespace.
    """

    label: Any
    route: str
    spaces: tuple[str, ...] = ()
    of_player: bool = False
    pages: tuple[str, ...] = ()


PLACES: dict[Role, tuple[Place, ...]] = {
    Role.COACH: (
        Place(_("Waiting for you"), "home:waiting"),
        Place(_("Film"), "film:list", ("film", "feedback", "tallies")),
        Place(_("Players"), "people:players", ("progress", "goals", "workouts")),
        Place(
            _("Next practice"), "progress:next-practice", ("catalogue",), pages=("progress:next",)
        ),
        Place(_("Calendar"), "schedule:calendar", ("schedule",)),
        Place(_("Squad"), "people:squads", ("people",), pages=("progress:board",)),
    ),
    Role.DIRECTOR: (
        Place(_("Club"), "progress:club", ("progress", "feedback")),
        Place(_("Squads"), "people:squads", ("people",), pages=("progress:board", "progress:next")),
        Place(_("Players"), "people:players", ("goals", "workouts")),
        Place(_("Staff"), "people:staff"),
        Place(_("Digests"), "digests:archive", ("digests",)),
    ),
    Role.GUARDIAN: (
        Place(_("Family"), "home:family", ("feedback", "progress")),
        Place(_("Calendar"), "schedule:calendar", ("schedule",)),
        Place(_("Digests"), "digests:archive", ("digests",)),
        Place(_("Me"), "people:me", ("people",)),
    ),
    Role.PLAYER: (
        Place(_("Today"), "home:today", ("feedback",)),
        Place(_("Work"), "goals:work", ("goals",), of_player=True),
        Place(_("Log"), "workouts:list", ("workouts",), of_player=True),
        Place(_("Progress"), "progress:player", ("progress",), of_player=True),
        Place(_("Me"), "people:me", ("people",)),
    ),
    Role.WELFARE: (
        Place(_("Players"), "people:players", ("progress", "feedback")),
        Place(_("Me"), "people:me", ("people",)),
    ),
}


@dataclass(frozen=True)
class NavItem:
    place: Place
    url: str
    starts_group: bool = False
    current: bool = False
    count: int | None = None

    @property
    def label(self) -> Any:
        return self.place.label


def navigation(request: HttpRequest) -> dict[str, Any]:
    """`club`, `who`, `nav_items`, `nav_as_bar`, `places_here` (brothers and sisters on this phone);
    a page pays for what it shows.

    A view that knows a number for a place puts it into `request.nav_counts`, by route.
    """
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {**_phone(request), "club": None, "who": None, "nav_items": [], "nav_as_bar": False}
    items = SimpleLazyObject(lambda: _items(request))
    return {
        **_phone(request),
        "club": getattr(request, "club", None) or SimpleLazyObject(lambda: _club(request)),
        "who": user,
        "nav_items": items,
        "nav_as_bar": SimpleLazyObject(lambda: 1 < len(items) <= MOST_IN_A_BAR),
    }


def _phone(request: HttpRequest) -> dict[str, Any]:
    if not hasattr(request, "phone"):
        return {"phone_here": None, "places_here": []}
    return {
        "phone_here": request.phone,
        "places_here": SimpleLazyObject(lambda: handset.others(request)),
    }


def address(place: Place, player_id: Any) -> str:
    """The URL of a place; empty where there is no such page."""
    try:
        return reverse(place.route, args=[player_id] if place.of_player else [])
    except NoReverseMatch:
        return ""


def roles_of(user: Any) -> list[Role]:
    """The roles that a person holds today, the order in which their pages are offered."""
    held = set(user.memberships.current().values_list("role", flat=True))
    if user.guardianships.current().exists():
        held.add(Role.GUARDIAN)
    if user.players.exists():
        held.add(Role.PLAYER)
    return [role for role in PLACES if role in held]


def _club(request: HttpRequest) -> Club | None:
    return Club.objects.visible_to(request.user).order_by("created_at").first()


def _items(request: HttpRequest) -> list[NavItem]:
    counts = getattr(request, "nav_counts", {})
    found: dict[str, NavItem] = {}
    player_id = request.user.players.order_by("created_at").values_list("pk", flat=True).first()
    for role in roles_of(request.user):
        group = len(found)
        for place in PLACES[role]:
            url = address(place, player_id)
            if url and place.route not in found:
                starts = bool(group) and len(found) == group
                count = counts.get(place.route)
                found[place.route] = NavItem(place, url, starts, count=count)
    return _with_current(list(found.values()), request)


def _with_current(items: list[NavItem], request: HttpRequest) -> list[NavItem]:
    """Marks the one place that the page belongs to: by its address, else by its app."""
    match = request.resolver_match
    space = match.namespace if match else ""
    here = next((item for item in items if _is_page_of(item.place, match)), None)
    inside = [item for item in items if request.path.startswith(item.url)]
    if here is None:
        here = max(inside, key=lambda item: len(item.url), default=None)
    if here is None:
        here = next((item for item in items if space and space in item.place.spaces), None)
    return [replace(item, current=True) if item is here else item for item in items]


def _is_page_of(place: Place, match: Any) -> bool:
    return bool(place.pages) and getattr(match, "view_name", "") in place.pages
