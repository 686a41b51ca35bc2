"""A fourth player for a club of seed_club.py, number 5, with a guardian and every consent.

usage: python -m tests.e2e.seed_fourth SQUAD MARK
"""

import sys

import django

django.setup()


from devplans.people import services  # noqa: E402
from devplans.people.models import Consent, Squad  # noqa: E402
from tests import factories as make  # noqa: E402

squad_id, mark = sys.argv[1:3]
player = make.make_player(
    squad=Squad.objects.get(pk=squad_id), number="5", first_name="Carys", last_name="Brandt"
)
guardian = make.make_user("Gwen", last_name="Brandt", email=f"gwen.{mark}@people.example")
make.make_guardian(guardian, player)
services.give_consent(actor=guardian, player=player, kind=Consent.Kind.FILM)
