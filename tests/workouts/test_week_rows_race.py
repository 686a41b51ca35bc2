"""Two writers of one player's week at the same moment: nothing is lost, nothing is left over."""

import threading
from uuid import uuid4

import pytest
from django.db import connection

from devplans.people.services import change_club
from devplans.workouts import services, sums
from devplans.workouts.models import WorkoutWeek
from tests import cast as people
from tests import factories as make
from tests.workouts.week_rows import DRILLS, by_hand, content_of, held_of


@pytest.fixture
def racing(shared_database):
    cast = people.build()
    make.make_drill(slug=DRILLS[0])
    return cast


def at_once(*writes):
    """Run each in a thread and on a connection of its own; what went wrong."""
    gate, wrong = threading.Barrier(len(writes)), []

    def run(write):
        try:
            gate.wait(timeout=20)
            write()
        except BaseException as error:  # noqa: BLE001 - told below
            wrong.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(write,)) for write in writes]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return wrong


def drawn_at(after, minutes, made):
    one = {"drill": DRILLS[0], "pair": [made, 10], "reps": None, "seconds": None, "shots": []}
    facts = {"minutes": minutes, "effort": 5, "kind": "own", "loose": []}
    return {"after": after, "sets": [one], **facts}


def putting(cast, key, revision, drawn):
    content = content_of(cast.kid, drawn)
    return lambda: services.put_workout(
        actor=cast.player, player=cast.kid, workout_id=key, revision=revision, content=content
    )


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", range(3))
def test_two_writers_of_one_week_lose_nothing(racing, turn):
    drawn = {uuid4(): drawn_at(40 + number, 10 + number, number) for number in range(4)}
    assert at_once(*(putting(racing, key, 1, one) for key, one in drawn.items())) == []
    assert held_of(racing.kid) == by_hand(drawn, racing.club.zone)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", range(2))
def test_moving_into_each_others_week_at_once(racing, turn):
    """Each leaves the week that the other comes to."""
    here, there = drawn_at(40, 10, 1), drawn_at(40 + 7 * 24, 20, 2)
    keys = [uuid4(), uuid4()]
    for key, one in zip(keys, (here, there), strict=True):
        putting(racing, key, 1, one)()
    moved = dict(zip(keys, (there, here), strict=True))
    assert at_once(*(putting(racing, key, 2, one) for key, one in moved.items())) == []
    assert held_of(racing.kid) == by_hand(moved, racing.club.zone)


@pytest.mark.django_db(transaction=True)
def test_a_workout_is_logged_while_the_club_moves(racing):
    """Half past midnight in London is Sunday in New York, whichever comes first."""
    first, second = uuid4(), uuid4()
    drawn = {first: drawn_at(28, 10, 1), second: drawn_at(29, 20, 2)}
    putting(racing, first, 1, drawn[first])()
    moving = {"actor": racing.director, "club": racing.club, "zone": "America/New_York"}
    wrong = at_once(putting(racing, second, 1, drawn[second]), lambda: change_club(**moving))
    assert wrong == []
    assert held_of(racing.kid) == by_hand(drawn, "America/New_York")
    assert sums.week_sums([racing.kid], 2026, 42)[racing.kid.pk].workouts == 2


@pytest.mark.django_db
def test_the_rows_are_the_transactions(cast, monkeypatch):
    """What fails after the workout was written leaves no row behind."""
    make.make_drill(slug=DRILLS[0])

    def fail(*_args, **_rest):
        raise RuntimeError("too late")

    monkeypatch.setattr("devplans.core.audit.record", fail)
    with pytest.raises(RuntimeError):
        putting(cast, uuid4(), 1, drawn_at(40, 10, 1))()
    assert not WorkoutWeek.objects.exists()
    assert not cast.kid.workouts.exists()
