"""Plain functions that make rows; every argument has a default. All names are invented."""

import itertools
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

_serial = itertools.count(1)
PASSWORD = "scorebook-tests"


def make_user(first_name: str = "", **fields: Any) -> User:
    number = next(_serial)
    first_name = first_name or f"Person{number}"
    fields.setdefault("email", f"{first_name.lower()}.{number}@people.example")
    fields.setdefault("last_name", f"Testname{number}")
    return User.objects.create_user(password=PASSWORD, first_name=first_name, **fields)


def make_club(**fields: Any) -> Club:
    return Club.objects.create(**{"name": f"Club {next(_serial)}", **fields})


def make_season(*, club: Club | None = None, **fields: Any) -> Season:
    today = timezone.now().date()
    fields.setdefault("starts_on", today - timedelta(days=200))
    fields.setdefault("ends_on", today + timedelta(days=160))
    fields.setdefault("name", f"Season {next(_serial)}")
    return Season.objects.create(club=club or make_club(), **fields)


def make_squad(*, season: Season | None = None, club: Club | None = None, **fields: Any) -> Squad:
    fields.setdefault("name", f"Squad {next(_serial)}")
    return Squad.objects.create(season=season or make_season(club=club), **fields)


def make_player(*, squad: Squad | None = None, number: str = "", **fields: Any) -> Player:
    squad = squad or make_squad()
    serial = next(_serial)
    fields.setdefault("first_name", f"Kid{serial}")
    fields.setdefault("last_name", f"Surname{serial}")
    fields.setdefault("born_on", date(timezone.now().year - 14, 3, 1))
    player = Player.objects.create(club=squad.season.club, **fields)
    SquadPlayer.objects.create(squad=squad, player=player, number=number, since=long_ago())
    return player


def long_ago() -> date:
    return timezone.now().date() - timedelta(days=150)


def make_member(user: User, role: str, *, club: Club, squad: Squad | None = None, **fields: Any) -> Membership:
    fields.setdefault("since", long_ago())
    return Membership.objects.create(user=user, club=club, squad=squad, role=role, **fields)


def make_guardian(user: User, player: Player, **fields: Any) -> Guardianship:
    fields.setdefault("since", long_ago())
    return Guardianship.objects.create(user=user, player=player, **fields)


def give_consent(player: Player, kind: str = Consent.Kind.FILM, **fields: Any) -> Consent:
    today = timezone.now().date()
    fields.setdefault("given_on", today - timedelta(days=30))
    fields.setdefault("expires_on", today + timedelta(days=335))
    return Consent.objects.create(player=player, kind=kind, how=Consent.How.PAPER, **fields)
