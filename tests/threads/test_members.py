from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.people.models import Guardianship, Membership
from devplans.threads import services
from devplans.threads.members import members_of
from devplans.threads.models import Thread
from tests import factories as make


@pytest.fixture
def thread(cast):
    return Thread.objects.create(
        club=cast.club, squad=cast.squad, player=cast.kid, author=cast.coach
    )


def test_who_is_on_a_thread_follows_from_roles(cast, thread):
    members = members_of(thread)
    assert members.player == cast.kid
    assert members.guardians == [cast.guardian]
    assert members.coaches == [cast.coach]
    assert members.second_adults == []
    assert members.is_safe


def test_the_welfare_officer_stands_in_for_a_guardian_then_a_director(cast, thread):
    Guardianship.objects.filter(player=cast.kid).update(
        until=timezone.now().date() - timedelta(days=1)
    )
    assert members_of(thread).second_adults == [cast.welfare]
    Membership.objects.filter(role="welfare").delete()
    assert members_of(thread).second_adults == [cast.director]
    # The author is no second adult to himself.
    thread.author = cast.director
    thread.save()
    assert not members_of(thread).is_safe


def test_an_adult_player_talks_for_himself(cast):
    Membership.objects.exclude(role="coach").delete()
    thread = Thread.objects.create(
        club=cast.club, squad=cast.squad, player=cast.adult, author=cast.coach
    )
    assert members_of(thread).is_safe
    assert members_of(thread).second_adults == []


def test_who_sees_a_thread(cast, thread):
    readers = {
        name
        for name in (
            "director", "welfare", "coach", "other_coach", "player", "teammate", "guardian",
            "mate_guardian", "ex_guardian", "outsider", "stranger",
        )
        if Thread.objects.visible_to(getattr(cast, name)).exists()
    }  # fmt: skip
    assert readers == {"director", "welfare", "coach", "player", "guardian"}


def test_a_coachs_words_answer_the_open_questions(cast, thread):
    question = services.post_reply(
        actor=cast.guardian, thread=thread, text="Which foot?", is_question=True
    )
    services.post_reply(actor=cast.coach, thread=thread, text="The outside one.")
    question.refresh_from_db()
    assert question.answered_at
    asked = services.post_reply(actor=cast.coach, thread=thread, text="Clear?", is_question=True)
    assert not asked.is_question


def test_refusals(cast, thread):
    for who in (cast.director, cast.teammate, cast.outsider, cast.ex_guardian):
        with pytest.raises(PermissionDenied):
            services.post_reply(actor=who, thread=thread, text="Hello")
    with pytest.raises(DomainError):
        services.post_reply(actor=cast.player, thread=thread, text="  ")
    assert not thread.replies.exists()


def test_a_coach_who_left_the_squad_is_off_its_threads(cast, thread):
    Membership.objects.filter(user=cast.coach).update(
        until=timezone.now().date() - timedelta(days=1)
    )
    second = make.make_user("Second")
    make.make_member(second, "coach", club=cast.club, squad=cast.squad)
    assert members_of(thread).coaches == [second]
    with pytest.raises(PermissionDenied):
        services.post_reply(actor=cast.coach, thread=thread, text="One more thing")
