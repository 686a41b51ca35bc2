import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.feedback import reading, services
from devplans.feedback.models import Clip, CommentVersion, Delivery
from tests import factories as make


@pytest.fixture
def sent(room):
    comment = make.make_comment(room.film, room.coach, [room.kid, room.mate], skill=room.skill)
    services.send_comments(actor=room.coach, comments=[comment])
    comment.refresh_from_db()
    return comment


def delivery_of(player):
    return Delivery.objects.get(player=player)


def test_a_correction_keeps_the_old_words_and_reaches_every_delivery(room, sent):
    services.mark_seen(actor=room.player, delivery=delivery_of(room.kid))
    services.correct_comment(
        actor=room.coach, comment=sent, happened="Runa was late", start_ms=9_000
    )
    old = CommentVersion.objects.get()
    assert (old.number, old.happened, old.start_ms) == (1, "Late.", 3_000)
    assert sent.version == 2
    mine, theirs = delivery_of(room.kid), delivery_of(room.mate)
    assert (mine.happened, theirs.happened) == ("A team-mate was late", "Runa was late")
    assert (mine.version, mine.seen_version) == (2, 1)
    assert [clip.start_ms for clip in Clip.objects.order_by("version")] == [0, 6_000]


def test_who_had_opened_it_sees_that_it_changed(room, sent, client):
    delivery = delivery_of(room.kid)
    services.mark_seen(actor=room.player, delivery=delivery)
    address = reverse("feedback:delivery", args=[delivery.pk])
    client.force_login(room.player)
    assert "changed this" not in client.get(address).text
    services.correct_comment(actor=room.coach, comment=sent, happened="Very late")
    assert "has changed this since you saw it" in client.get(address).text
    delivery.refresh_from_db()
    services.mark_seen(actor=room.player, delivery=delivery)
    assert "has changed this since you saw it" not in client.get(address).text
    client.force_login(room.guardian)
    assert "The coach changed this on" in client.get(address).text


def test_words_alone_need_no_new_clip_and_nothing_changed_writes_nothing(room, sent):
    services.correct_comment(actor=room.coach, comment=sent, happened="Very late")
    assert Clip.objects.count() == 1
    services.correct_comment(actor=room.coach, comment=sent, happened="Very late ")
    assert CommentVersion.objects.count() == 1


def test_a_clip_of_an_old_moment_is_not_shown_for_the_new_one(room, sent):
    Clip.objects.update(state="ready")
    shown = reading.with_clips(Delivery.objects.filter(player=room.kid))
    assert shown.get().has_clip
    services.correct_comment(actor=room.coach, comment=sent, start_ms=20_000)
    assert not shown.get().has_clip


@pytest.mark.parametrize(
    ("fields", "code"),
    [({"do_instead": " "}, "do_instead.missing"), ({"start_ms": 99_000}, "start_ms.range")],
)
def test_a_correction_has_to_make_sense(room, sent, fields, code):
    with pytest.raises(DomainError) as caught:
        services.correct_comment(actor=room.coach, comment=sent, **fields)
    assert caught.value.code == code
    assert not CommentVersion.objects.exists()


def test_only_the_author_corrects_or_takes_back(room, sent):
    second = make.make_user("Second")
    make.make_member(second, "coach", club=room.club, squad=room.squad)
    for who in (second, room.director, room.player):
        with pytest.raises(PermissionDenied):
            services.take_back(actor=who, comment=sent)
        with pytest.raises(PermissionDenied):
            services.correct_comment(actor=who, comment=sent, happened="Mine")


def test_what_was_taken_back_shows_no_words_clip_or_still(room, sent, client):
    Clip.objects.update(state="ready", video_key="a.mp4", still_key="a.jpg")
    delivery = delivery_of(room.kid)
    services.take_back(actor=room.coach, comment=sent)
    for who in (room.player, room.guardian):
        client.force_login(who)
        page = client.get(reverse("feedback:delivery", args=[delivery.pk])).text
        assert "The coach has taken this comment back" in page
        assert "Late." not in page
        assert "Go early." not in page
        for route in ("feedback:clip", "feedback:delivery-still"):
            assert client.get(reverse(route, args=[delivery.pk])).status_code == 404
        listed = client.get(reverse("comment-list"), {"player": str(room.kid.pk)}).json()
        assert listed["results"] == []
    with pytest.raises(DomainError):
        services.take_back(actor=room.coach, comment=sent)
