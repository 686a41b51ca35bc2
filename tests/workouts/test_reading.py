"""What the API gives back: one workout, and pages of them."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from tests import factories as make
from tests.workouts.phone import one_set, one_shot, url

LIST = "/api/v1/workouts/"


def ids(answer):
    assert answer.status_code == 200, answer.content
    return [row["id"] for row in answer.json()["results"]]


def test_the_list_holds_what_the_user_may_read_newest_first(phone):
    cast = phone.cast
    now = timezone.now()
    mine = [make.make_workout(cast.kid, started_at=now - timedelta(days=day)) for day in range(3)]
    mates = make.make_workout(cast.mate, started_at=now - timedelta(hours=1))
    make.make_workout(cast.far_kid)
    gone = make.make_workout(cast.kid, deleted_at=now)
    coach = Client()
    coach.force_login(cast.coach)
    first, second, third = (str(one.pk) for one in mine)
    assert ids(phone.client.get(LIST)) == [first, second, third]
    assert ids(coach.get(LIST)) == [first, str(mates.pk), second, third]
    assert ids(coach.get(LIST, {"player": str(cast.mate.pk)})) == [str(mates.pk)]
    assert ids(phone.client.get(LIST, {"player": str(cast.mate.pk)})) == []
    assert str(gone.pk) not in ids(coach.get(LIST))


def test_a_player_that_is_no_uuid_is_named(phone):
    answer = phone.client.get(LIST, {"player": "kid"})
    assert answer.status_code == 400
    assert set(answer.json()) == {"player"}


def test_pages_follow_each_other(phone):
    for hour in range(5):
        make.make_workout(phone.cast.kid, started_at=timezone.now() - timedelta(hours=hour))
    first = phone.client.get(LIST, {"page_size": 3}).json()
    assert set(first) == {"next", "previous", "results"}
    second = phone.client.get(first["next"]).json()
    seen = [row["id"] for row in first["results"] + second["results"]]
    assert (len(seen), len(set(seen)), second["next"]) == (5, 5, None)


@pytest.mark.parametrize("count", [2, 50])
def test_the_list_costs_the_same_for_many(phone, count, django_assert_max_num_queries):
    rows = [{"drill": phone.drill, "made": 1, "tried": 2} for _ in range(3)]
    for _ in range(count):
        make.make_workout(phone.cast.kid, sets=rows)
    with django_assert_max_num_queries(8):
        assert len(ids(phone.client.get(LIST))) == count


@pytest.mark.parametrize("count", [2, 200])
def test_a_put_costs_the_same_for_many_shots(phone, count, django_assert_max_num_queries):
    mine = one_set(made=None, tried=None)
    shots = [one_shot(set=mine["id"]) for _ in range(count)]
    with django_assert_max_num_queries(30):
        assert phone.put(sets=[mine], shots=shots).status_code == 201


def test_who_reads_a_workout(phone):
    phone.put(pain="left knee", note="hard")
    readers = {"player", "guardian", "coach", "director", "welfare"}
    for name in [*readers, "teammate", "other_coach", "ex_guardian", "outsider", "stranger"]:
        client = Client()
        client.force_login(getattr(phone.cast, name))
        answer = client.get(url(phone.key))
        assert answer.status_code == (200 if name in readers else 404), name


def test_what_is_read_may_be_sent_again(phone):
    """A phone that lost its own copy takes the kept one, and may go on with it."""
    phone.put(sets=[one_set(), one_set(made=None, tried=None, reps=8)], shots=[one_shot()])
    kept = phone.get().json()
    assert phone.put(kept).status_code == 200
    assert phone.put({**kept, "revision": 2, "note": "later"}).status_code == 200
    assert phone.put(kept, at=uuid4()).status_code == 400
