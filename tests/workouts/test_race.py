"""Two writers at the same moment: one row, and each is told what came of it."""

import threading
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client

from devplans.core.models import AuditEntry, Message
from devplans.workouts.models import Workout, WorkoutSet
from tests import cast as people
from tests.workouts.phone import body, one_set, phone_of, url


@pytest.fixture
def racing(shared_database):
    """A phone whose requests may run side by side, each on a connection of its own."""
    return phone_of(people.build())


def at_once(*requests):
    """The status codes of requests that all start at the same moment."""
    gate = threading.Barrier(len(requests))
    codes = [0] * len(requests)

    def run(place):
        try:
            gate.wait(timeout=20)
            codes[place] = requests[place]().status_code
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(place,)) for place in range(len(requests))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return sorted(codes)


def sender(user, key, content):
    client = Client()
    client.force_login(user)
    return lambda: client.put(url(key), content, content_type="application/json")


def test_the_same_put_at_once_writes_once(racing):
    cast = racing.cast
    sent = body(cast.kid, sets=[one_set(), one_set()], pain="left knee")
    users = [cast.player, cast.guardian, cast.player, cast.coach]
    codes = at_once(*(sender(user, racing.key, sent) for user in users))
    assert codes == [200, 200, 200, 201]
    assert (Workout.objects.count(), WorkoutSet.objects.count()) == (1, 2)
    assert AuditEntry.objects.filter(verb="workouts.workout_logged").count() == 1
    assert Message.objects.values("recipient").distinct().count() == Message.objects.count()


def test_other_content_at_once_one_wins(racing):
    kid = racing.cast.kid
    sent = [body(kid, minutes=minutes, sets=[one_set()]) for minutes in (10, 20, 30)]
    codes = at_once(*(sender(racing.cast.player, racing.key, one) for one in sent))
    assert codes == [201, 409, 409]
    assert (Workout.objects.count(), WorkoutSet.objects.count()) == (1, 1)


def test_the_same_set_id_in_two_workouts_at_once(racing):
    """The database, not luck, keeps an id in one workout."""
    mine = one_set()
    sent = body(racing.cast.kid, sets=[mine])
    codes = at_once(*(sender(racing.cast.player, uuid4(), sent) for _ in range(3)))
    assert codes == [201, 400, 400]
    assert (Workout.objects.count(), WorkoutSet.objects.count()) == (1, 1)


def test_revisions_at_once_leave_the_highest_or_a_conflict(racing):
    kid, player = racing.cast.kid, racing.cast.player
    assert racing.put(sets=[one_set()]).status_code == 201
    sent = [body(kid, revision=n, minutes=n, sets=[one_set()]) for n in (2, 3, 4)]
    codes = at_once(*(sender(player, racing.key, one) for one in sent))
    assert set(codes) <= {200, 409}
    kept = Workout.objects.get()
    assert kept.revision == kept.minutes == 4
    assert kept.sets.count() == 1


def test_put_and_delete_at_once_end_deleted_or_kept_whole(racing):
    assert racing.put(sets=[one_set()]).status_code == 201
    sent = body(racing.cast.kid, revision=2, sets=[one_set(), one_set()])
    codes = at_once(sender(racing.cast.player, racing.key, sent), lambda: racing.delete(racing.key))
    assert codes in ([200, 204], [204, 409])
    kept = Workout.objects.get()
    assert kept.deleted_at is not None
    assert kept.sets.count() == 0
