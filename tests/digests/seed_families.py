"""Run by test_kills in a process of its own: a club of so many families, each with one child."""

import sys

import django
from django.conf import settings

django.setup()
# Nobody signs in here, and a thousand slow hashes are minutes.
settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

from tests import factories as make  # noqa: E402

club = make.make_club(name="Rivermead Herons")
squad = make.make_squad(club=club)
for number in range(int(sys.argv[1])):
    player = make.make_player(squad=squad, first_name=f"Child{number}")
    make.make_guardian(make.make_user(f"Parent{number}"), player)
