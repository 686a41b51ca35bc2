"""How hard it was, asked after a workout that a coach counted."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.people.services.phones import join_phone, show_code
from devplans.workouts.after.effort import answer_effort, asked_of, without_phone
from devplans.workouts.models import PainAnswer, Workout
from tests import factories as make
from tests.workouts.known import words_of


@pytest.fixture
def counted(cast):
    drill = make.make_drill()
    sets = [{"drill": drill, "made": 7, "tried": 10}]
    return make.make_workout(
        cast.kid, sets=sets, effort=None, logged_by=cast.coach, kind="organised"
    )


def test_one_tap_on_today_answers_and_the_load_is_known(cast, counted):
    assert counted.load is None
    page = words_of(cast.player, "/today/")
    assert "How hard was it?" in page
    assert "counted by Ravel" in page
    assert "If nothing hurts, one tap will do." in page
    client = Client()
    client.force_login(cast.player)
    answer = client.post(
        f"/workouts/{counted.pk}/how-hard/", {"effort": "7", "next": "/today/"}, follow=True
    )
    assert answer.redirect_chain[0][0] == "/today/"
    assert "Noted: 7, tough." in answer.content.decode()
    kept = Workout.objects.get()
    assert (kept.effort, kept.load, kept.revision, kept.logged_by) == (7, 280, 2, cast.coach)
    assert list(kept.sets.values_list("made", "tried")) == [(7, 10)]
    assert "How hard was it?" not in words_of(cast.player, "/today/")


def test_the_work_page_asks_the_player_and_nobody_else(cast, counted):
    path = reverse("goals:work", args=[cast.kid.pk])
    assert "How hard was it?" in words_of(cast.player, path)
    for user in (cast.guardian, cast.coach, cast.director):
        assert "How hard was it?" not in words_of(user, path)


def test_what_hurts_is_said_on_the_same_page_and_waits_for_an_answer(cast, counted):
    client = Client()
    client.force_login(cast.player)
    page = words_of(cast.player, f"/workouts/{counted.pk}/how-hard/")
    assert "Does anything hurt?" in page
    assert "stop, and tell an adult" in page
    client.post(f"/workouts/{counted.pk}/how-hard/", {"effort": "4", "pain": "Left knee."})
    report = PainAnswer.objects.get()
    assert (report.said, report.said_by, report.is_open) == ("Left knee.", cast.player, True)


def test_what_the_coach_wrote_of_pain_stays(cast, counted):
    Workout.objects.filter(pk=counted.pk).update(pain="Ankle.")
    kept = answer_effort(actor=cast.player, workout=counted, effort=3)
    assert (kept.effort, kept.pain) == (3, "Ankle.")


def test_minutes_are_asked_only_where_nobody_knows_them(cast, counted):
    kept = answer_effort(actor=cast.player, workout=counted, effort=5, minutes=90)
    assert kept.minutes == 40
    open_one = make.make_workout(cast.kid, minutes=None, effort=None, logged_by=cast.coach)
    assert answer_effort(actor=cast.player, workout=open_one, effort=5).load is None
    other = make.make_workout(cast.kid, minutes=None, effort=None, logged_by=cast.coach)
    assert answer_effort(actor=cast.player, workout=other, effort=5, minutes=30).load == 150


def test_only_what_a_coach_counted_is_asked_and_for_two_weeks(cast, counted):
    now = timezone.now()
    blank = {"effort": None, "minutes": 30}
    make.make_workout(cast.kid, logged_by=cast.player, **blank)
    make.make_workout(cast.kid, logged_by=cast.guardian, **blank)
    make.make_workout(cast.kid, logged_by=None, **blank)
    make.make_workout(cast.kid, logged_by=cast.coach, minutes=30, effort=0)
    make.make_workout(cast.kid, logged_by=cast.coach, deleted_at=now, **blank)
    make.make_workout(cast.kid, logged_by=cast.coach, started_at=now - timedelta(days=15), **blank)
    counting = make.make_workout(cast.kid, logged_by=cast.coach, minutes=None, effort=None)
    assert asked_of([cast.kid])[cast.kid.pk] == [counted]
    left = timezone.now() - timedelta(hours=13)
    Workout.objects.filter(pk=counting.pk).update(updated_at=left)
    assert len(asked_of([cast.kid])[cast.kid.pk]) == 2


def test_a_guardian_answers_for_a_child_without_a_phone_only(cast, counted):
    make.make_workout(cast.sibling, effort=None, logged_by=cast.other_coach)
    assert without_phone([cast.kid, cast.sibling]) == {cast.sibling.pk}
    page = words_of(cast.guardian, "/family/")
    assert page.count("How hard was it?") == 1
    assert "Luc ·" in page
    _code, secret = show_code(actor=cast.guardian, player=cast.sibling)
    join_phone(secret=secret, name="phone")
    assert without_phone([cast.sibling]) == set()
    assert "How hard was it?" not in words_of(cast.guardian, "/family/")


def test_the_same_answer_twice_is_one_and_another_is_told(cast, counted):
    answer_effort(actor=cast.player, workout=counted, effort=6)
    assert answer_effort(actor=cast.guardian, workout=counted, effort=6).revision == 2
    with pytest.raises(DomainError) as error:
        answer_effort(actor=cast.guardian, workout=counted, effort=2)
    assert error.value.code == "effort.answered"
    assert Workout.objects.get().effort == 6


def test_out_of_range_and_others_people_are_refused(cast, counted):
    for wrong in ({"effort": 11}, {"effort": -1}, {"effort": 3, "minutes": 2000}):
        with pytest.raises(DomainError):
            answer_effort(actor=cast.player, workout=counted, **wrong)
    for user in (cast.coach, cast.director, cast.mate_guardian, cast.stranger):
        with pytest.raises(PermissionDenied):
            answer_effort(actor=user, workout=counted, effort=3)
    client = Client()
    client.force_login(cast.player)
    assert client.post(f"/workouts/{counted.pk}/how-hard/", {"effort": "x"}).status_code == 422
    assert Workout.objects.get().effort is None
