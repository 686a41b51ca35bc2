from datetime import timedelta

import pytest
from django.utils import timezone

from devplans.schedule.models import Event
from devplans.tallies.models import TallyWeek
from tests import factories as make
from tests.progress.counting import count


@pytest.fixture
def second(cast):
    user = make.make_user("Sigrun")
    make.make_member(user, "coach", club=cast.club, squad=cast.squad)
    return user


@pytest.fixture
def skills():
    return [
        make.make_skill(name="Closing out", family="defence"),
        make.make_skill(name="Boxing out", family="defence"),
        make.make_skill(name="Finishing high", family="finishing"),
    ]


@pytest.fixture
def four_films(cast, skills):
    """Closing out 12 of 40, boxing out 38 of 40, finishing 9 of 18; on four films by the coach."""
    close, box, finish = skills
    for days in (3, 10, 17, 24):
        count(
            cast.squad, cast.coach, skills,
            {
                cast.kid: {close: (1, 4), box: (5, 5), finish: (2, 3)},
                cast.mate: {close: (2, 6), box: (5, 5)},
            },
            days=days, asked=[cast.kid, cast.mate, cast.adult],
        )  # fmt: skip
    last = TallyWeek.objects.filter(skill=box, player=cast.mate).first()
    TallyWeek.objects.filter(pk=last.pk).update(made=3)


@pytest.fixture
def practice(cast):
    start = timezone.now() + timedelta(days=2)
    return Event.objects.create(
        squad=cast.squad, kind="practice", starts_at=start, ends_at=start + timedelta(minutes=90)
    )
