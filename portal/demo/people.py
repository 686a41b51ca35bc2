"""The people of the demo club. Every name is invented."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from devplans.people.models import (
    Club,
    Consent,
    Guardianship,
    Membership,
    Player,
    Season,
    Squad,
    SquadPlayer,
    User,
)

# Public on purpose: these accounts are refused from any other machine.
PASSWORD = "scorebook-demo"  # noqa: S105
COACH, DIRECTOR = "coach@club.example", "director@club.example"


@dataclass(frozen=True)
class Kid:
    number: str
    first_name: str
    last_name: str
    guardian: str = ""
    account: bool = True
    consent: bool = True
    hand: str = "right"


UNDER_16 = [
    Kid("4", "Carys", "Brandt", "Helen Brandt"),
    Kid("7", "Lowri", "Pemberton", "Gethin Pemberton"),
    Kid("12", "Inès", "Okafor", "Marta Okafor"),
    Kid("14", "Runa", "Lindqvist", "Sanna Lindqvist", hand="left"),
    Kid("23", "Mirela", "Haas", "Anton Haas"),
    Kid("9", "Hedda", "Wolfe", "Imke Wolfe"),
    Kid("11", "Saskia", "Ferrand", "Odile Ferrand"),
    Kid("15", "Maren", "Quist", "Lars Quist", account=False),
    Kid("21", "Teodora", "Vance", "Petra Vance"),
    Kid("22", "Anouk", "Ferreira", "Rui Ferreira", consent=False),
    Kid("31", "Tove", "Adeyemi", account=False),
    Kid("33", "Jolie", "Marsh", "Nell Marsh"),
]
UNDER_14 = [
    Kid("4", "Luc", "Okafor", "Marta Okafor", account=False),
    Kid("5", "Emrys", "Tolland", "Bea Tolland", account=False),
    Kid("7", "Nils", "Haverkamp", "Tilda Haverkamp", account=False),
    Kid("8", "Joss", "Ellery", "Wynn Ellery"),
    Kid("10", "Bastian", "Roe", "Clara Roe", account=False),
    Kid("12", "Ravi", "Coulter", "Meera Coulter", account=False),
    Kid("13", "Osian", "Pryce", "Dilys Pryce", account=False),
    Kid("14", "Kasper", "Lindholm", "Ebba Lindholm"),
    Kid("20", "Theo", "Marchetti", "Gaia Marchetti", account=False),
    Kid("23", "Idris", "Falkner", "Noor Falkner", account=False),
    Kid("25", "Wim", "Dekkers", "Floor Dekkers", account=False, consent=False),
]


@dataclass
class Cast:
    club: Club
    under_16: Squad
    under_14: Squad
    coach: User
    assistant: User
    players: dict[str, dict[str, Player]]  # squad name -> number -> player


def make_user(first_name: str, last_name: str, email: str = "", *, signs_in: bool = False) -> User:
    email = email or f"{first_name}.{last_name}@people.example".lower().replace(" ", "").replace(
        "è", "e"
    )
    user = User.objects.create_user(
        email,
        PASSWORD if signs_in else None,
        first_name=first_name,
        last_name=last_name,
        is_demo=True,
    )
    return user


def season_start(today: date) -> date:
    """The first of September at or before eight weeks ago."""
    day = today - timedelta(weeks=9)
    return date(day.year if day.month >= 9 else day.year - 1, 9, 1)


def make_club() -> Cast:
    """The demo club with two squads, its staff, players, guardians and consents, and a coach of
    another club."""
    today = timezone.now().date()
    began = season_start(today)
    club = Club.objects.create(name="Rivermead Herons", zone="Europe/London")
    season = Season.objects.create(
        club=club,
        name=f"{began.year}/{(began.year + 1) % 100:02d}",
        starts_on=began,
        ends_on=began.replace(year=began.year + 1),
    )
    under_16 = Squad.objects.create(season=season, name="Under 16")
    under_14 = Squad.objects.create(season=season, name="Under 14")
    coach = make_user("Ravel", "Sorrow", COACH, signs_in=True)
    assistant = make_user("Imogen", "Thrace")
    director = make_user("Dana", "Whitlock", DIRECTOR, signs_in=True)
    welfare = make_user("Wilma", "Ferris")
    for user, role, squad in [
        (coach, "coach", under_16),
        (coach, "coach", under_14),
        (assistant, "coach", under_14),
        (director, "director", None),
        (welfare, "welfare", None),
    ]:
        Membership.objects.create(user=user, club=club, squad=squad, role=role, since=began)
    _outsider(began)
    guardians: dict[str, User] = {}
    players = {
        squad.name: {
            kid.number: _player(kid, squad, began, age, guardians, director) for kid in kids
        }
        for squad, kids, age in [(under_16, UNDER_16, 15), (under_14, UNDER_14, 13)]
    }
    return Cast(club, under_16, under_14, coach, assistant, players)


def _outsider(began: date) -> None:
    other = Club.objects.create(name="Ashdown Larks", zone="Europe/London")
    season = Season.objects.create(
        club=other, name="This season", starts_on=began, ends_on=began.replace(year=began.year + 1)
    )
    squad = Squad.objects.create(season=season, name="Under 16")
    user = make_user("Otto", "Lark", "outsider@club.example", signs_in=True)
    Membership.objects.create(user=user, club=other, squad=squad, role="coach", since=began)
    player = Player.objects.create(club=other, first_name="Wren", last_name="Sadler")
    SquadPlayer.objects.create(squad=squad, player=player, number="6", since=began)


def _player(
    kid: Kid, squad: Squad, began: date, age: int, guardians: dict[str, User], director: User
) -> Player:
    is_demo_player = kid.first_name == "Inès"
    email = "player@club.example" if is_demo_player else ""
    user = (
        make_user(kid.first_name, kid.last_name, email, signs_in=is_demo_player)
        if kid.account
        else None
    )
    player = Player.objects.create(
        club=squad.club,
        user=user,
        first_name=kid.first_name,
        last_name=kid.last_name,
        hand=kid.hand,
        grade=str(age - 6),
        born_on=date(began.year - age, 1 + int(kid.number) % 12, 1 + int(kid.number) % 27),
        email=user.email if user else "",
    )
    SquadPlayer.objects.create(squad=squad, player=player, number=kid.number, since=began)
    guardian = _guardian(kid.guardian, player, began, guardians) if kid.guardian else None
    if kid.consent:
        _consents(player, guardian, began, director)
    return player


def _guardian(name: str, player: Player, began: date, guardians: dict[str, User]) -> User:
    first_name, last_name = name.split(" ", 1)
    if name not in guardians:
        is_demo_guardian = name == "Marta Okafor"
        email = "guardian@club.example" if is_demo_guardian else ""
        guardians[name] = make_user(first_name, last_name, email, signs_in=is_demo_guardian)
    Guardianship.objects.create(
        user=guardians[name], player=player, relationship="parent", since=began
    )
    return guardians[name]


def _consents(player: Player, guardian: User | None, began: date, director: User) -> None:
    by: dict[str, Any] = (
        {"how": "guardian", "given_by": guardian, "given_by_name": guardian.full_name}
        if guardian
        else {"how": "paper", "recorded_by": director, "given_by_name": "on paper"}
    )
    kinds = [Consent.Kind.FILM]
    if player.first_name == "Inès":
        kinds.append(Consent.Kind.EMAIL_PICTURES)
    for kind in kinds:
        Consent.objects.create(
            player=player,
            kind=kind,
            given_on=began,
            expires_on=began.replace(year=began.year + 1),
            **by,
        )
