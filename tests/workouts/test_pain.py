"""When something hurts: who is told, once, and without a word of it."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from devplans.core.models import Message
from devplans.people.models import MailChoice
from devplans.workouts.models import PainAnswer
from tests import factories as make
from tests.workouts.phone import one_set

WORDS = "left knee since Tuesday"


def told():
    return set(Message.objects.values_list("recipient__first_name", flat=True))


def test_guardians_and_coaches_are_told_without_a_word_of_it(phone):
    phone.put(pain=WORDS, note="felt odd")
    assert told() == {"Marta", "Ravel"}
    for mail in Message.objects.all():
        everything = f"{mail.subject}\n{mail.text}\n{mail.html}\n{mail.headers}"
        for word in ("knee", "Tuesday", "hurt", "pain", "odd", "Runa", "Lindqvist"):
            assert word not in everything
        assert f"/workouts/answers/{PainAnswer.objects.get().pk}/" in mail.text
        assert (mail.kind, mail.player_id) == ("notice", phone.cast.kid.pk)
        assert mail.club_id == phone.cast.club.pk


def test_nobody_is_told_of_nothing(phone):
    phone.put(sets=[one_set()])
    phone.put(revision=2, pain="   ")
    assert Message.objects.count() == 0


def test_each_is_told_once_for_a_workout(phone):
    phone.put()
    phone.put(revision=2, pain=WORDS)
    assert Message.objects.count() == 2
    phone.put(revision=3, pain=WORDS + ", worse")
    phone.put(revision=4, pain="")
    phone.put(revision=5, pain=WORDS)
    assert Message.objects.count() == 2


def test_a_second_workout_is_told_of_again(phone):
    phone.put(pain=WORDS)
    other = "8b0f4a52-6d0c-4a4e-9d7a-0f8f3f0b6a11"
    phone.put(at=other, pain=WORDS)
    assert Message.objects.count() == 4


def test_whoever_logged_it_knows(phone):
    guardian = Client()
    guardian.force_login(phone.cast.guardian)
    phone.put(client=guardian, pain=WORDS)
    assert told() == {"Ravel"}


@pytest.mark.parametrize("gone", ["ex_guardian", "other_coach", "outsider", "mate_guardian"])
def test_nobody_else_is_told(phone, gone):
    phone.put(pain=WORDS)
    assert getattr(phone.cast, gone).first_name not in told()


def test_a_coach_who_left_is_not_told(phone):
    yesterday = timezone.now().date() - timedelta(days=1)
    phone.cast.coach.memberships.update(until=yesterday)
    second = make.make_user("Sorin")
    make.make_member(second, "coach", club=phone.cast.club, squad=phone.cast.squad)
    phone.put(pain=WORDS)
    assert told() == {"Marta", "Sorin"}


def test_who_stopped_notices_is_told_all_the_same(phone):
    MailChoice.objects.create(user=phone.cast.guardian, kind="notice")
    phone.put(pain=WORDS)
    assert told() == {"Marta", "Ravel"}


def test_the_page_defers_to_those_who_may_judge(phone):
    phone.put(pain=WORDS)
    page = phone.client.get(f"/workouts/{phone.key}/").content.decode()
    assert WORDS in page
    assert "tell an adult" in page
    assert "doctor or a licensed athletic trainer" in page
