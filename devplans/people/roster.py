"""What the pages about a squad show: each player with what is there and what is missing."""

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q

from devplans.core.days import today
from devplans.people import consent
from devplans.people.access import Role
from devplans.people.models import (
    Club,
    Consent,
    Guardianship,
    Invitation,
    Membership,
    Player,
    Season,
    Squad,
    SquadPlayer,
    User,
)


@dataclass
class RosterLine:
    """A player of a squad today. `is_waiting`: nothing can be delivered to him yet."""

    player: Player
    number: str
    has_film_consent: bool
    has_picture_consent: bool
    guardians: list[User] = field(default_factory=list)
    invited: list[Invitation] = field(default_factory=list)

    @property
    def is_minor(self) -> bool:
        return self.player.is_minor()

    @property
    def lacks_guardian(self) -> bool:
        return self.is_minor and not self.guardians

    @property
    def lacks_account(self) -> bool:
        """An adult is reached by his own account only; a child may do without one."""
        return not self.is_minor and self.player.user_id is None

    @property
    def is_waiting(self) -> bool:
        return self.lacks_guardian or self.lacks_account or not self.has_film_consent


def sort_key(number: str) -> tuple[bool, int, str]:
    """Numbers in their order, `0` before `00`, no number last."""
    return (not number, int(number) if number.isdigit() else 0, number)


def lines_of(squad: Squad) -> list[RosterLine]:
    """The roster of `squad` today, by number."""
    places = list(squad.squadplayers.current().select_related("player__user"))
    players = [place.player for place in places]
    film = consent.given_for(players, Consent.Kind.FILM)
    pictures = consent.given_for(players, Consent.Kind.EMAIL_PICTURES)
    guardians, invited = _guardians_by_player(players), _invited_by_player(players)
    lines = [
        RosterLine(
            player=place.player,
            number=place.number,
            has_film_consent=place.player_id in film,
            has_picture_consent=place.player_id in pictures,
            guardians=guardians[place.player_id],
            invited=invited[place.player_id],
        )
        for place in places
    ]
    return sorted(lines, key=lambda line: (*sort_key(line.number), line.player.full_name))


def _guardians_by_player(players: list[Player]) -> dict[Any, list[User]]:
    found: dict[Any, list[User]] = defaultdict(list)
    rows = Guardianship.objects.current().filter(player__in=players).select_related("user")
    for row in rows.order_by("since"):
        found[row.player_id].append(row.user)
    return found


def _invited_by_player(players: list[Player]) -> dict[Any, list[Invitation]]:
    found: dict[Any, list[Invitation]] = defaultdict(list)
    for row in Invitation.objects.open().filter(player__in=players):
        found[row.player_id].append(row)
    return found


@dataclass
class SeasonSquads:
    season: Season
    squads: list[Squad]


def seasons_for(user: Any) -> list[SeasonSquads]:
    """Seasons of the clubs of `user` with the squads that he may read, the latest first."""
    by_season: dict[Any, list[Squad]] = defaultdict(list)
    for squad in Squad.objects.visible_to(user).select_related("season__club"):
        by_season[squad.season_id].append(squad)
    seasons = Season.objects.visible_to(user).select_related("club").order_by("-starts_on")
    return [SeasonSquads(season, by_season[season.pk]) for season in seasons]


@dataclass
class SquadPlayers:
    squad: Squad
    players: list[tuple[str, Player]]


def players_for(user: Any) -> list[SquadPlayers]:
    """The players that `user` may read, by squad, with their numbers."""
    seen = set(Player.objects.visible_to(user).values_list("pk", flat=True))
    found = []
    squads = Squad.objects.visible_to(user).select_related("season")
    for squad in squads.order_by("-season__starts_on", "name"):
        places = squad.squadplayers.current().filter(player__in=seen).select_related("player")
        pairs = sorted(
            ((place.number, place.player) for place in places),
            key=lambda pair: (*sort_key(pair[0]), pair[1].full_name),
        )
        if pairs:
            found.append(SquadPlayers(squad, pairs))
    return found


def without_squad(user: Any) -> list[Player]:
    """Players that `user` may read who are in no squad today."""
    players = Player.objects.visible_to(user)
    return list(players.exclude(pk__in=SquadPlayer.objects.current().values("player")))


@dataclass
class ConsentState:
    """One kind of consent of a player: the row that holds, and the newest one in any case."""

    kind: str
    label: Any
    valid: Consent | None
    newest: Consent | None


def consents_of(player: Player) -> list[ConsentState]:
    """Both kinds of consent of `player`, with their dates."""
    states = []
    for kind in Consent.Kind:
        rows = Consent.objects.filter(player=player, kind=kind).select_related("given_by")
        valid = rows.valid().order_by("-expires_on", "-created_at").first()
        newest = rows.order_by("-created_at").first()
        states.append(ConsentState(str(kind), kind.label, valid, newest))
    return states


def invitations_to_squad(user: Any, squad: Squad) -> list[Invitation]:
    """Unanswered invitations to the squad and to its players, the newest first."""
    here = squad.squadplayers.current().values("player")
    rows = _unanswered(user).filter(Q(squad=squad) | Q(player__in=here))
    return list(rows.order_by("-updated_at"))


def invitations_for_player(user: Any, player: Player) -> list[Invitation]:
    """Unanswered invitations of a player and of guardians of his, the newest first."""
    return list(_unanswered(user).filter(player=player).order_by("-updated_at"))


def invitations_to_staff(user: Any, club: Club) -> list[Invitation]:
    """Unanswered invitations of staff of a club, the newest first."""
    rows = _unanswered(user).filter(club=club, player=None)
    return list(rows.order_by("-updated_at"))


def _unanswered(user: Any) -> Any:
    rows = Invitation.objects.visible_to(user).filter(accepted_at=None, revoked_at=None)
    return rows.select_related("player", "squad", "club")


def played_by(user: Any) -> list[Player]:
    """The players that `user` is himself."""
    return list(Player.objects.filter(user=user.pk).select_related("club"))


@dataclass
class NextSteps:
    """What a club still lacks before film can reach a player."""

    needs_welfare: bool
    bare: list[Squad]
    without_coach: list[Squad]

    @property
    def is_done(self) -> bool:
        return not (self.needs_welfare or self.bare or self.without_coach)


def next_steps(club: Club) -> NextSteps:
    """What a director does next: a welfare officer, players and a coach for each squad."""
    squads = Squad.objects.filter(season__club=club, season__ends_on__gte=today())
    with_players = SquadPlayer.objects.current().values("squad")
    coached = Membership.objects.current().filter(role=Role.COACH).values("squad")
    welfare = club.memberships.current().filter(role=Role.WELFARE)
    return NextSteps(
        needs_welfare=not welfare.exists(),
        bare=list(squads.exclude(pk__in=with_players)),
        without_coach=list(squads.exclude(pk__in=coached)),
    )
