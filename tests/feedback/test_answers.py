import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry, Message
from devplans.feedback import services
from devplans.feedback.models import Delivery
from devplans.people.models import Guardianship, Membership
from devplans.threads.models import Reply
from tests import factories as make


@pytest.fixture
def delivery(room):
    comment = make.make_comment(room.film, room.coach, [room.kid, room.mate], skill=room.skill)
    services.send_comments(actor=room.coach, comments=[comment])
    Message.objects.all().delete()
    return Delivery.objects.get(player=room.kid)


def mailed(kind):
    return {mail.recipient for mail in Message.objects.filter(kind=kind)}


def test_only_the_players_own_opening_counts_as_seen(room, delivery):
    services.mark_seen(actor=room.guardian, delivery=delivery)
    delivery.refresh_from_db()
    assert delivery.seen_at is None
    assert delivery.opened_by_guardian_at is not None
    services.mark_seen(actor=room.player, delivery=delivery)
    delivery.refresh_from_db()
    first = delivery.seen_at
    assert first is not None
    services.mark_seen(actor=room.player, delivery=delivery)
    delivery.refresh_from_db()
    assert delivery.seen_at == first


@pytest.mark.parametrize("who", ["coach", "director", "welfare", "teammate", "mate_guardian"])
def test_nobody_else_marks_it_seen(room, delivery, who):
    with pytest.raises(PermissionDenied):
        services.mark_seen(actor=getattr(room, who), delivery=delivery)


def test_i_see_it_is_the_players_to_say(room, delivery):
    with pytest.raises(PermissionDenied):
        services.say_understood(actor=room.guardian, delivery=delivery)
    services.say_understood(actor=room.player, delivery=delivery)
    delivery.refresh_from_db()
    assert delivery.understood_at
    assert delivery.seen_at


def test_a_guardian_says_it_for_a_child_without_an_account(room, delivery):
    room.kid.user = None
    room.kid.save()
    delivery.refresh_from_db()
    services.say_understood(actor=room.guardian, delivery=delivery)
    delivery.refresh_from_db()
    assert delivery.understood_at
    assert delivery.seen_at is None


def test_a_question_reaches_the_coach_and_his_reply_answers_it(room, delivery):
    question = services.ask(actor=room.player, delivery=delivery, text=" Which foot? ")
    assert question.is_question
    assert question.text == "Which foot?"
    assert mailed("question") == {room.coach}
    mail = Message.objects.get(kind="question")
    assert "Which foot" not in mail.text + mail.html + mail.subject
    services.reply(actor=room.coach, delivery=delivery, text="The outside one.")
    question.refresh_from_db()
    assert question.answered_at
    assert mailed("reply") == {room.player, room.guardian}


def test_a_familys_reply_leaves_the_question_open(room, delivery):
    question = services.ask(actor=room.player, delivery=delivery, text="Which foot?")
    services.reply(actor=room.guardian, delivery=delivery, text="I wonder too.")
    question.refresh_from_db()
    assert question.answered_at is None
    assert mailed("reply") == {room.player, room.coach}


def test_a_coachs_reply_names_no_other_player(room, delivery):
    for words in ("As Runa did.", "Watch number 7.", "Ask TOVE."):
        with pytest.raises(DomainError) as caught:
            services.reply(actor=room.coach, delivery=delivery, text=words)
        assert caught.value.code == "reply.names_player"
        assert "team-mate" in str(caught.value)
    assert not Reply.objects.exists()
    services.reply(actor=room.coach, delivery=delivery, text="Ines, you will get there.")


@pytest.mark.parametrize("who", ["director", "welfare", "teammate", "mate_guardian", "ex_guardian"])
def test_only_those_on_the_thread_write(room, delivery, who):
    with pytest.raises(PermissionDenied):
        services.reply(actor=getattr(room, who), delivery=delivery, text="Hello")
    with pytest.raises(PermissionDenied):
        services.ask(actor=getattr(room, who), delivery=delivery, text="Hello")


def test_nothing_is_written_with_only_one_adult_on_the_thread(room, delivery):
    Guardianship.objects.filter(player=room.kid).delete()
    services.ask(actor=room.player, delivery=delivery, text="Which foot?")
    Membership.objects.filter(role__in=["director", "welfare"]).delete()
    for run in (services.ask, services.reply):
        with pytest.raises(DomainError) as caught:
            run(actor=room.player, delivery=delivery, text="And now?")
        assert caught.value.code == "thread.one_adult"


def test_the_second_adult_is_told_where_there_is_no_guardian(room, delivery):
    Guardianship.objects.filter(player=room.kid).delete()
    services.reply(actor=room.coach, delivery=delivery, text="The outside one.")
    assert mailed("reply") == {room.player, room.welfare}


def test_empty_and_endless_texts_are_refused(room, delivery):
    for text in (" ", "x" * 2001):
        with pytest.raises(DomainError):
            services.ask(actor=room.player, delivery=delivery, text=text)


def test_a_directors_look_is_written_down_and_a_guardians_is_not(room, delivery, client):
    address = reverse("feedback:delivery", args=[delivery.pk])
    for who, count in ((room.guardian, 0), (room.coach, 0), (room.director, 1), (room.welfare, 2)):
        client.force_login(who)
        assert client.get(address).status_code == 200
        assert AuditEntry.objects.filter(verb="feedback.delivery_read").count() == count
    client.force_login(room.director)
    client.get(reverse("comment-list"), {"player": str(room.kid.pk)})
    assert AuditEntry.objects.filter(verb="feedback.comments_read", player_id=room.kid.pk).exists()


def test_the_page_says_who_reads_along(room, delivery, client):
    client.force_login(room.player)
    page = " ".join(client.get(reverse("feedback:delivery", args=[delivery.pk])).text.split())
    assert "Coach Ravel and your mother can read what you write here." in page
    client.force_login(room.guardian)
    page = " ".join(client.get(reverse("feedback:delivery", args=[delivery.pk])).text.split())
    assert "Ines and Coach Ravel can read what you write here." in page


def test_pages_for_asking_and_answering(room, delivery, client):
    client.force_login(room.player)
    ask = reverse("feedback:ask", args=[delivery.pk])
    refused = client.post(ask, {"text": ""})
    assert refused.status_code == 422
    assert "Write something first." in refused.text
    assert client.post(ask, {"text": "Which foot?", "from": "today"}).url.startswith("/today/")
    client.force_login(room.coach)
    reply = reverse("feedback:reply", args=[delivery.pk])
    refused = client.post(reply, {"text": "As Runa did."})
    assert refused.status_code == 422
    assert "As a team-mate did." in refused.text
    assert client.post(reply, {"text": "The outside one."}).status_code == 302
    seen = client.post(reverse("feedback:seen", args=[delivery.pk]))
    assert seen.status_code == 403
    assert delivery.sent_at <= timezone.now()
