import pytest

from tests import factories as make


@pytest.fixture
def room(cast):
    """The cast with a film of `squad`, a skill and a drill."""
    cast.film = make.make_film(cast.squad, original_key="films/a/original")
    cast.skill = make.make_skill(slug="help-position", name="Help-side position")
    cast.drill = make.make_drill(skill=cast.skill, name="Key to corner", players_needed=1)
    return cast
