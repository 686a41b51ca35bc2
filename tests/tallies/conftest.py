from types import SimpleNamespace
from uuid import uuid4

import pytest

from devplans.tallies import services
from tests import factories as make


@pytest.fixture
def people(cast):
    """The cast with a second coach of the squad, a film of ten minutes, two skills."""
    cast.second_coach = make.make_user("Sigrun")
    make.make_member(cast.second_coach, "coach", club=cast.club, squad=cast.squad)
    cast.film = make.make_film(cast.squad, duration_ms=600_000)
    cast.skill = make.make_skill(name="Closeout technique")
    cast.other_skill = make.make_skill(name="Contain the ball")
    return cast


@pytest.fixture
def possessions(people):
    """Forty possessions of ten seconds, five seconds apart, in turns ours and theirs."""
    rows = []
    for number in range(40):
        start = number * 15_000
        side = "ours" if number % 2 == 0 else "theirs"
        rows.append(
            people.film.possessions.create(side=side, start_ms=start, end_ms=start + 10_000)
        )
    return rows


@pytest.fixture
def counts(people):
    """Starts, marks and closes tallies in one line each."""

    def start(coach=None, **more):
        wanted = {"film": people.film, "skills": [people.skill], "players": [people.kid]} | more
        return services.start_tally(actor=coach or people.coach, **wanted)

    def mark(tally, *chances, player=None, skill=None):
        """chances: (film_ms, did_it) or (film_ms, did_it, place)."""
        player, skill = player or people.kid, skill or people.skill
        return services.keep_marks(
            actor=tally.coach,
            tally=tally,
            chances=[
                services.Chance(uuid4(), ms, player.pk, skill.pk, did_it, *place)
                for ms, did_it, *place in chances
            ],
        )

    def see_all(tally):
        services.keep_marks(actor=tally.coach, tally=tally, chances=[], seen=range(tally.drawn))

    def close(tally):
        if tally.is_sample:
            see_all(tally)
        return services.close_tally(actor=tally.coach, tally=tally, sure=True)

    return SimpleNamespace(start=start, mark=mark, close=close, see_all=see_all)
