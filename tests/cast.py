"""The people of the tests: one club, two squads, and outsiders of another club.

Users: director, welfare, coach (of `squad`), other_coach (of `other_squad`, same club), player
(plays as `kid`),
teammate (plays as `mate`), guardian (of `kid` and of `sibling`), mate_guardian (of `mate`),
ex_guardian (was of
`kid`), outsider (coach of another club), stranger (signed in, belongs nowhere).
Rows: club, season, squad, other_squad, kid (number 12), mate (number 7), sibling (in other_squad),
adult (18+, number 31), far_club, far_squad, far_kid. `kid` and `mate` have consent to film.
"""

from datetime import date, timedelta
from types import SimpleNamespace

from django.utils import timezone

from tests import factories as make


def build() -> SimpleNamespace:
    c = SimpleNamespace()
    c.club = make.make_club(name="Rivermead Herons")
    c.season = make.make_season(club=c.club, name="2026/27")
    c.squad = make.make_squad(season=c.season, name="Under 16")
    c.other_squad = make.make_squad(season=c.season, name="Under 14")
    for name, first in [
        ("director", "Dana"),
        ("welfare", "Wilma"),
        ("coach", "Ravel"),
        ("other_coach", "Osric"),
        ("player", "Ines"),
        ("teammate", "Runa"),
        ("guardian", "Marta"),
        ("mate_guardian", "Gudrun"),
        ("ex_guardian", "Exeter"),
        ("outsider", "Otto"),
        ("stranger", "Stig"),
    ]:
        setattr(c, name, make.make_user(first))
    make.make_member(c.director, "director", club=c.club)
    make.make_member(c.welfare, "welfare", club=c.club)
    make.make_member(c.coach, "coach", club=c.club, squad=c.squad)
    make.make_member(c.other_coach, "coach", club=c.club, squad=c.other_squad)
    c.kid = make.make_player(
        squad=c.squad, number="12", first_name="Ines", last_name="Okafor", user=c.player
    )
    c.mate = make.make_player(
        squad=c.squad, number="7", first_name="Runa", last_name="Lindqvist", user=c.teammate
    )
    c.sibling = make.make_player(
        squad=c.other_squad, number="4", first_name="Luc", last_name="Okafor"
    )
    c.adult = make.make_player(
        squad=c.squad,
        number="31",
        first_name="Tove",
        last_name="Adeyemi",
        born_on=date(timezone.now().year - 20, 1, 1),
    )
    make.make_guardian(c.guardian, c.kid, relationship="mother")
    make.make_guardian(c.guardian, c.sibling, relationship="mother")
    make.make_guardian(c.mate_guardian, c.mate)
    make.make_guardian(c.ex_guardian, c.kid, until=timezone.now().date() - timedelta(days=10))
    make.give_consent(c.kid)
    make.give_consent(c.mate)
    c.far_club = make.make_club(name="Ashdown Larks")
    c.far_squad = make.make_squad(club=c.far_club, name="Under 16")
    make.make_member(c.outsider, "coach", club=c.far_club, squad=c.far_squad)
    c.far_kid = make.make_player(
        squad=c.far_squad, number="9", first_name="Wren", last_name="Tolland"
    )
    return c
