from datetime import UTC, datetime

import pytest

from devplans.goals import services
from devplans.goals.days import today_in
from tests import factories as make
from tests.goals.steps import an_aim

# A Wednesday in the fiftieth week of 2026.
NOW = datetime(2026, 12, 9, 12, 0, tzinfo=UTC)


class Clock:
    """What time it is for the code under test; it stands still unless a test moves it."""

    def __init__(self):
        self.now = NOW

    def __call__(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr("django.utils.timezone.now", clock)
    return clock


@pytest.fixture
def people(clock, cast):
    """The cast at noon of a Wednesday, with a skill and a drill that counts makes."""
    cast.skill = make.make_skill(name="Finish with two feet")
    cast.drill = make.make_drill(
        skill=cast.skill, name="Power layups", slug="power-layups",
        default_sets=4, default_per_set=10, how="Land on two feet.",
    )  # fmt: skip
    return cast


@pytest.fixture
def draft(people):
    aim = an_aim(people.skill, drill=people.drill, today=today_in(people.club.zone))
    return services.add_goal(actor=people.coach, player=people.kid, aim=aim)


@pytest.fixture
def live(people, draft):
    return services.make_live(actor=people.coach, goal=draft)
