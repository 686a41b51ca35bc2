from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.feedback import services
from devplans.people.models import Invitation
from devplans.workouts.after import services as after
from tests import factories as make

WAITING = "/coach/"


def words(client, address=WAITING):
    return " ".join(client.get(address).text.split())


@pytest.fixture
def coach(room, client):
    client.force_login(room.coach)
    return client


def deliver(room, player=None, **fields):
    player = player or room.kid
    comment = make.make_comment(room.film, room.coach, [player], skill=room.skill)
    return make.make_delivery(comment, player, **fields)


def invite(room, **fields):
    usual = {
        "kind": "guardian",
        "club": room.club,
        "player": room.kid,
        "email": "new@people.example",
        "token_hash": str(Invitation.objects.count()),
        "expires_at": timezone.now() + timedelta(days=9),
    }
    return Invitation.objects.create(**{**usual, **fields})


def test_nothing_waits(room, coach):
    room.film.ready_at = timezone.now() - timedelta(days=30)
    room.film.save()
    assert "Nothing is waiting" in words(coach)


def test_questions_until_a_coach_answers(room, coach):
    delivery = deliver(room)
    services.ask(actor=room.player, delivery=delivery, text="Which foot?")
    page = words(coach)
    assert "Which foot?" in page
    assert reverse("feedback:delivery", args=[delivery.pk]) in page
    services.reply(actor=room.coach, delivery=delivery, text="The outside one.")
    assert "Which foot?" not in words(coach)


def test_clips_not_opened_after_three_days(room, coach):
    late = deliver(room, sent_at=timezone.now() - timedelta(days=4))
    deliver(room, room.mate, sent_at=timezone.now() - timedelta(days=2))
    page = words(coach)
    assert "Not opened after three days" in page
    assert "Ines Okafor" in page
    assert "Runa Lindqvist" not in page
    services.mark_seen(actor=room.guardian, delivery=late)
    assert "a guardian opened it" in words(coach)
    services.mark_seen(actor=room.player, delivery=late)
    assert "Not opened after three days" not in words(coach)


def test_a_child_without_an_account_is_opened_by_its_guardian(room, coach):
    room.kid.user = None
    room.kid.save()
    late = deliver(room, sent_at=timezone.now() - timedelta(days=4))
    services.mark_seen(actor=room.guardian, delivery=late)
    assert "Not opened after three days" not in words(coach)


def test_what_hurts_until_the_family_has_answered(room, coach):
    old = timezone.now() - timedelta(days=20)
    report = make.make_pain(room.kid, said="Left knee, going down", said_at=old)
    make.make_pain(room.sibling, said="Right ankle")
    page = words(coach)
    assert "Left knee" in page
    assert reverse("workouts:pain", args=[report.pk]) in page
    assert "doctor or a licensed athletic trainer" in page
    assert "Right ankle" not in page
    after.answer_pain(actor=room.guardian, report=report, answer="resting")
    assert "Left knee" not in words(coach)


def test_comments_that_cannot_be_delivered_and_drafts(room, coach):
    make.make_comment(room.film, room.coach, [room.adult, room.kid], skill=room.skill)
    page = words(coach)
    assert "Tove Adeyemi has no consent to film." in page
    assert reverse("people:player", args=[room.adult.pk]) in page
    assert "1 draft not sent" in page
    assert reverse("feedback:check", args=[room.film.pk]) in page


def test_new_films_without_a_comment(room, coach):
    room.film.ready_at = timezone.now()
    room.film.save()
    assert "ready, no comments yet" in words(coach)
    deliver(room, seen_at=timezone.now())
    assert "ready, no comments yet" not in words(coach)


def test_invitations_that_nobody_accepted(room, coach):
    invite(room)
    invite(room, email="gone@people.example", accepted_at=timezone.now())
    invite(room, email="late@people.example", expires_at=timezone.now() - timedelta(days=1))
    invite(room, email="far@people.example", club=room.far_club, player=room.far_kid)
    page = words(coach)
    assert "new@people.example" in page
    assert "late@people.example" in page
    assert "gone@people.example" not in page
    assert "far@people.example" not in page


def test_only_what_belongs_to_ones_own_squads(room, client):
    services.ask(actor=room.player, delivery=deliver(room), text="Which foot?")
    make.make_pain(room.kid, said="Left knee")
    client.force_login(room.other_coach)
    page = words(client)
    assert "Which foot?" not in page
    assert "Left knee" not in page


def test_as_many_questions_for_fifty_rows_as_for_two(room, coach):
    counts = []
    for more in (2, 48):
        for _ in range(more):
            player = make.make_player(squad=room.squad)
            late = deliver(room, player, sent_at=timezone.now() - timedelta(days=4))
            late.thread.replies.create(author=room.guardian, text="Why?", is_question=True)
            make.make_comment(room.film, room.coach, [player], skill=room.skill)
            make.make_comment(make.make_film(room.squad), room.coach, [player], skill=room.skill)
            make.make_pain(player, said="Here")
            invite(room, player=player)
        with CaptureQueriesContext(connection) as asked:
            assert coach.get(WAITING).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 35
