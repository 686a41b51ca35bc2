"""Run by the journeys in a process of its own: a club with its people, printed as JSON.

usage: python -m tests.e2e.seed_club MARK ZONE

MARK makes the addresses of this club its own. Nobody has quiet hours here: a journey does not wait
for the morning.
"""

import json
import sys

import django

django.setup()


from devplans.people import services  # noqa: E402
from devplans.people.models import Consent  # noqa: E402
from tests import factories as make  # noqa: E402
from tests.e2e.people import PASSWORD  # noqa: E402

mark, zone = sys.argv[1:3]
NAMES = {
    "director": ("Delphine", "Marsh"),
    "welfare": ("Wilma", "Hart"),
    "coach": ("Ravel", "Osei"),
    "kid": ("Isaura", "Okonjo"),
    "mate": ("Brunhild", "Vasquell"),
    "family": ("Marta", "Okonjo"),
    "mate_family": ("Gudrun", "Vasquell"),
    "outsider": ("Otto", "Brandvold"),
}


def user(role):
    first, last = NAMES[role]
    found = make.make_user(first, last_name=last, email=f"{role}.{mark}@people.example")
    found.set_password(PASSWORD)
    found.save()
    return found


users = {role: user(role) for role in NAMES}
club = make.make_club(
    name=f"Rivermead Herons {mark}", zone=zone, quiet_from_hour=0, quiet_until_hour=0
)
squad = make.make_squad(club=club, name="Under 16")
make.make_member(users["director"], "director", club=club)
make.make_member(users["welfare"], "welfare", club=club)
make.make_member(users["coach"], "coach", club=club, squad=squad)
players = {
    "kid": make.make_player(
        squad=squad, number="97", first_name="Isaura", last_name="Okonjo", user=users["kid"]
    ),
    "mate": make.make_player(
        squad=squad, number="94", first_name="Brunhild", last_name="Vasquell", user=users["mate"]
    ),
    "sibling": make.make_player(
        squad=squad, number="96", first_name="Lucan", last_name="Okonjo", born_on=None
    ),
}
for role, player, relationship in (
    ("family", "kid", "mother"),
    ("family", "sibling", "mother"),
    ("mate_family", "mate", "aunt"),
):
    make.make_guardian(users[role], players[player], relationship=relationship)
    services.give_consent(actor=users[role], player=players[player], kind=Consent.Kind.FILM)
services.give_consent(
    actor=users["family"], player=players["kid"], kind=Consent.Kind.EMAIL_PICTURES
)

far_club = make.make_club(name=f"Ashdown Larks {mark}", zone=zone)
far_squad = make.make_squad(club=far_club, name="Under 16")
make.make_member(users["outsider"], "coach", club=far_club, squad=far_squad)
make.make_player(squad=far_squad, number="9", first_name="Wren", last_name="Tolland")

print(
    json.dumps(
        {
            "mark": mark,
            "zone": zone,
            "club": str(club.pk),
            "squad": str(squad.pk),
            "emails": {role: found.email for role, found in users.items()},
            "players": {name: str(found.pk) for name, found in players.items()},
        }
    )
)
