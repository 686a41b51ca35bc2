"""The coach's voice on the pages of those who get it: sound, captions, and the right to them."""

from django.urls import reverse
from django.utils import timezone

from devplans.feedback import services, webvtt
from devplans.feedback.models import Clip, Comment, Delivery
from devplans.feedback.voices import keeping
from devplans.people.models import Consent
from tests import factories as make
from tests.feedback.spoken import (
    WORDS,
    draft,
    keep,
    sent_and_cut,
)


def test_captions_have_the_clips_own_right(spoken, client):
    comment = draft(spoken)
    keep(spoken, comment)
    delivery = sent_and_cut(spoken, comment)
    address = reverse("feedback:captions", args=[delivery.pk])
    for who in (spoken.player, spoken.guardian, spoken.coach, spoken.director):
        client.force_login(who)
        answer = client.get(address)
        assert answer.status_code == 200
        assert answer["Content-Type"] == "text/vtt; charset=utf-8"
        assert answer["Cache-Control"] == "private, no-store"
    found = list(webvtt.cues(answer.text.split("\n")))
    assert [[cue.start_ms, cue.end_ms, *cue.lines] for cue in found] == WORDS
    for who in (spoken.teammate, spoken.mate_guardian, spoken.ex_guardian, spoken.outsider):
        client.force_login(who)
        assert client.get(address).status_code == 404
    client.force_login(spoken.player)
    bare = reverse("feedback:voice", args=[comment.pk])
    assert client.get(bare).status_code == 404
    Consent.objects.filter(player=spoken.kid).update(withdrawn_at=timezone.now())
    assert client.get(address).status_code == 404
    assert address not in client.get(reverse("feedback:delivery", args=[delivery.pk])).text


def test_taken_back_is_neither_heard_nor_read(spoken, client):
    comment = draft(spoken)
    keep(spoken, comment)
    delivery = sent_and_cut(spoken, comment)
    services.take_back(actor=spoken.coach, comment=Comment.objects.get(pk=comment.pk))
    client.force_login(spoken.player)
    for route in ("feedback:captions", "feedback:clip"):
        assert client.get(reverse(route, args=[delivery.pk])).status_code == 404


def test_captions_mask_who_joined_since(spoken):
    comment = draft(spoken)
    keep(spoken, comment, cues=[[0, 900, "Good, Vesna. Ines, you wait."]])
    delivery = sent_and_cut(spoken, comment)
    make.make_player(squad=spoken.squad, number="44", first_name="Vesna", last_name="Horvat")
    told = keeping.captions_for(Delivery.objects.get(pk=delivery.pk))
    assert told == [(0, 900, "Good, a team-mate. Ines, you wait.")]


def test_the_players_page_and_today_offer_sound_and_captions(spoken, client):
    comment = draft(spoken)
    keep(spoken, comment)
    delivery = sent_and_cut(spoken, comment)
    captions = reverse("feedback:captions", args=[delivery.pk])
    for who, words in (
        (spoken.player, "with your coach&#x27;s voice"),
        (spoken.guardian, "with the coach"),
    ):
        client.force_login(who)
        page = client.get(reverse("feedback:delivery", args=[delivery.pk])).text
        assert f'<track kind="captions" src="{captions}"' in page
        assert words in page.replace("'", "&#x27;")
        assert 'data-do="sound"' in page
    client.force_login(spoken.player)
    assert captions in client.get(reverse("home:today")).text
    # A clip without a voice is as it was.
    Clip.objects.update(voiced=False)
    page = client.get(reverse("feedback:delivery", args=[delivery.pk])).text
    assert "<track" not in page
    assert 'data-do="sound"' not in page
    assert "Your voice is not in this clip" not in page
    client.force_login(spoken.coach)
    page = client.get(reverse("feedback:delivery", args=[delivery.pk])).text
    assert "Your voice is not in this clip" in page
    listed = client.get(reverse("feedback:film-comments", args=[spoken.film.pk])).text
    assert "the clip was cut without your voice" in listed
