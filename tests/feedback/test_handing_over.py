"""Two coaches: an assistant's drafts go out when another coach of the squad sends them."""

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.feedback import checking, services
from devplans.feedback.models import Comment, Delivery
from devplans.people.models import Guardianship
from devplans.threads.members import members_of
from portal.home.waiting import waiting_for
from tests import factories as make


@pytest.fixture
def pair(room):
    """A second coach of the squad, with two drafts."""
    room.maren = make.make_user("Maren")
    make.make_member(room.maren, "coach", club=room.club, squad=room.squad)
    words = {"skill": room.skill, "happened": "Trails", "do_instead": "Go early"}
    room.draft = make.make_comment(room.film, room.maren, [room.kid], **words)
    room.both = make.make_comment(room.film, room.maren, [room.kid, room.mate], **words)
    return room


def seen_by(user):
    return set(Comment.objects.visible_to(user))


def test_a_draft_is_its_authors_until_it_is_handed_over(pair):
    assert seen_by(pair.coach) == set()
    services.hand_over(actor=pair.maren, comment=pair.draft)
    assert seen_by(pair.coach) == {pair.draft}
    assert seen_by(pair.maren) == {pair.draft, pair.both}
    others = (pair.director, pair.welfare, pair.player, pair.guardian, pair.other_coach)
    assert [one for one in others if seen_by(one)] == []
    assert AuditEntry.objects.filter(verb="feedback.draft_handed_over").count() == 1


def test_all_of_a_film_are_handed_over_at_once(pair):
    assert len(services.hand_over_film(actor=pair.maren, film=pair.film)) == 2
    assert seen_by(pair.coach) == {pair.draft, pair.both}
    with pytest.raises(DomainError) as caught:
        services.hand_over_film(actor=pair.maren, film=pair.film)
    assert caught.value.code == "handing.nothing"


def test_nobody_hands_over_to_himself_or_for_others(pair):
    with pytest.raises(PermissionDenied):
        services.hand_over(actor=pair.coach, comment=pair.draft)
    pair.coach.memberships.update(until=make.long_ago())
    for run in (
        lambda: services.hand_over(actor=pair.maren, comment=pair.draft),
        lambda: services.hand_over_film(actor=pair.maren, film=pair.film),
    ):
        with pytest.raises(DomainError) as caught:
            run()
        assert caught.value.code == "handing.alone"


def test_the_author_takes_it_back_until_it_is_sent(pair):
    services.hand_over(actor=pair.maren, comment=pair.draft)
    services.return_draft(actor=pair.maren, comment=pair.draft)
    assert seen_by(pair.coach) == set()
    services.hand_over(actor=pair.maren, comment=pair.draft)
    services.send_comments(actor=pair.coach, comments=[pair.draft])
    pair.draft.refresh_from_db()
    with pytest.raises(DomainError) as caught:
        services.return_draft(actor=pair.maren, comment=pair.draft)
    assert caught.value.code == "comment.sent"


def test_another_coach_edits_gives_back_but_never_throws_away(pair):
    with pytest.raises(PermissionDenied):
        services.edit_comment(actor=pair.coach, comment=pair.draft, happened="Mine")
    services.hand_over(actor=pair.maren, comment=pair.draft)
    services.edit_comment(actor=pair.coach, comment=pair.draft, happened="Trails the ball")
    pair.draft.refresh_from_db()
    assert (pair.draft.happened, pair.draft.author) == ("Trails the ball", pair.maren)
    with pytest.raises(PermissionDenied):
        services.delete_draft(actor=pair.coach, comment=pair.draft)
    services.return_draft(actor=pair.coach, comment=pair.draft)
    assert seen_by(pair.coach) == set()


def test_the_sender_is_kept_and_the_author_stays(pair):
    services.hand_over_film(actor=pair.maren, film=pair.film)
    own = make.make_comment(pair.film, pair.coach, [pair.mate], skill=pair.skill)
    page = checking.check(pair.film, pair.coach)
    assert {comment.pk for comment in page.comments} == {pair.draft.pk, pair.both.pk, own.pk}
    assert checking.check(pair.film, pair.maren).comments == []
    sent = services.send_film(actor=pair.coach, film=pair.film, players=[pair.kid, pair.mate])
    assert len(sent) == 3
    pair.draft.refresh_from_db()
    assert (pair.draft.author, pair.draft.sender) == (pair.maren, pair.coach)
    assert Delivery.objects.count() == 4
    told = {receipt.player for receipt in checking.last_sending(pair.film, pair.coach)}
    assert told == {pair.kid, pair.mate}
    assert checking.last_sending(pair.film, pair.maren) == []


def test_what_is_held_back_stays_its_authors_and_handed_over(pair):
    services.hand_over(actor=pair.maren, comment=pair.both)
    services.send_film(actor=pair.coach, film=pair.film, players=[pair.kid])
    waiting = Comment.objects.drafts().exclude(pk=pair.draft.pk).get()
    assert (waiting.author, list(waiting.players.all())) == (pair.maren, [pair.mate])
    assert waiting.handed_over_at is not None


def test_author_and_sender_correct_and_take_back(pair):
    services.hand_over_film(actor=pair.maren, film=pair.film)
    services.send_comments(actor=pair.coach, comments=[pair.draft, pair.both])
    third = make.make_user("Third")
    make.make_member(third, "coach", club=pair.club, squad=pair.squad)
    for comment in (pair.draft, pair.both):
        comment.refresh_from_db()
    with pytest.raises(PermissionDenied):
        services.correct_comment(actor=third, comment=pair.draft, happened="No")
    services.correct_comment(actor=pair.coach, comment=pair.draft, happened="By the sender")
    services.take_back(actor=pair.maren, comment=pair.both)
    assert Delivery.objects.standing().get().happened == "By the sender"


def test_the_author_of_the_words_is_not_the_second_adult_on_them(pair):
    """Maren is the club's only officer too; the child has no guardian."""
    Guardianship.objects.filter(player=pair.kid).delete()
    pair.welfare.memberships.all().delete()
    pair.director.memberships.all().delete()
    make.make_member(pair.maren, "welfare", club=pair.club)
    services.hand_over(actor=pair.maren, comment=pair.draft)
    page = checking.check(pair.film, pair.coach)
    assert page.ready == []
    with pytest.raises(services.NotSendable):
        services.send_comments(actor=pair.coach, comments=[pair.draft])
    other = make.make_user("Second")
    make.make_member(other, "welfare", club=pair.club)
    services.send_comments(actor=pair.coach, comments=[pair.draft])
    assert other in members_of(Delivery.objects.get().thread).second_adults


def test_what_was_handed_over_waits_for_the_other_coach(pair, client):
    services.hand_over_film(actor=pair.maren, film=pair.film)
    (row,) = waiting_for(pair.coach).handed_over
    assert (row.film, row.author, row.count) == (pair.film, pair.maren.full_name, 2)
    assert waiting_for(pair.maren).handed_over == []
    assert waiting_for(pair.maren).films == []
    client.force_login(pair.coach)
    page = client.get(reverse("home:waiting")).text
    assert "Drafts handed over to you" in page
    assert f"by {pair.maren.full_name}" in page


def test_the_list_beside_the_film_says_who_and_offers_the_way_back(pair, client):
    address = reverse("feedback:film-comments", args=[pair.film.pk])
    client.force_login(pair.maren)
    page = " ".join(client.get(address).text.split())
    assert "Hand over your 2 drafts" in page
    assert client.post(reverse("feedback:hand-over-all", args=[pair.film.pk])).status_code == 302
    page = " ".join(client.get(address).text.split())
    assert "Ravel can change and send them" in page
    assert "Take it back" in page
    assert "Check and send" not in page
    client.force_login(pair.coach)
    page = " ".join(client.get(address).text.split())
    assert "Handed over by Maren" in page
    assert "Back to Maren" in page
    assert "Hand over your" not in page
    check = " ".join(client.get(reverse("feedback:check", args=[pair.film.pk])).text.split())
    assert "handed over by Maren" in check
    edited = client.get(reverse("feedback:comment", args=[pair.draft.pk]))
    assert edited.status_code == 200
    back = client.post(
        reverse("feedback:return", args=[pair.draft.pk]), headers={"HX-Request": "true"}
    )
    news = f'{{"film:comments": {{"id": "{pair.draft.pk}"}}}}'
    assert (back.status_code, back["HX-Trigger"]) == (204, news)
    assert client.get(reverse("feedback:comment", args=[pair.draft.pk])).status_code == 404


def test_a_coach_alone_is_not_offered_it(room, client):
    make.make_comment(room.film, room.coach, [room.kid], skill=room.skill)
    client.force_login(room.coach)
    page = client.get(reverse("feedback:film-comments", args=[room.film.pk])).text
    assert "Hand over" not in page
    answer = client.post(reverse("feedback:hand-over-all", args=[room.film.pk]), follow=True)
    assert "nobody to hand over to" in answer.text


def test_the_api_lists_and_sends_what_was_handed_over(pair, client):
    services.hand_over(actor=pair.maren, comment=pair.draft)
    client.force_login(pair.coach)
    listed = client.get(f"/api/v1/comments/?film={pair.film.pk}").json()["results"]
    assert [one["id"] for one in listed] == [str(pair.draft.pk)]
    body = {"comments": [str(pair.draft.pk)]}
    sent = client.post("/api/v1/comments/send/", body, content_type="application/json")
    assert sent.status_code == 200
    refused = client.post(
        "/api/v1/comments/send/", {"comments": [str(pair.both.pk)]}, content_type="application/json"
    )
    assert refused.status_code == 404
