"""The coach's voice goes from a suggestion to its draft: real sound, cut outside of the lock."""

import math
from array import array

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.feedback.models import Comment, Voice
from devplans.feedback.voices import stretch
from devplans.film import sandbox
from devplans.talkthrough import sounding
from devplans.talkthrough.models import Suggestion
from devplans.talkthrough.services import aliases, suggestions
from devplans.talkthrough.services.steps import undo
from tests import factories as make
from tests.feedback.spoken import kept_sounds
from tests.talkthrough.sounds import write_wav
from tests.talkthrough.talks import a_take, a_talk, say, suggestion

RATE = 16_000


@pytest.fixture
def take(cast, tmp_path):
    """A take of half a minute: a tone, and one line about Ines at 0:20."""
    film = make.make_film(cast.squad, duration_ms=600_000)
    talk = a_talk(film, cast.coach, kind="whole")
    out = tmp_path / "take.wav"
    tone = [round(6_000 * math.sin(at / 9)) for at in range(30 * RATE)]
    write_wav(out, array("h", tone), RATE)
    key = default_storage.save(f"talk/{talk.pk}/0.wav", ContentFile(out.read_bytes()))
    take = a_take(talk, length_ms=30_000, sound_key=key)
    say(talk, 20, 24, "Ines, good closeout there.", take=take)
    return take


def one_of(take, *players, **fields):
    fields = {"start_ms": 20_000, "take": take, "with_voice": True, **fields}
    return suggestion(take.talk, players, **fields)


def fresh(one):
    return Suggestion.objects.get(pk=one.pk)


@pytest.mark.django_db(transaction=True)
def test_real_sound_is_cut_first_and_kept_with_the_draft(cast, take, monkeypatch):
    locked, real = [], sandbox.cut_voice

    def cut_voice(*given, **named):
        locked.append(connection.in_atomic_block)
        return real(*given, **named)

    monkeypatch.setattr(sandbox, "cut_voice", cut_voice)
    one, other = one_of(take, cast.kid), one_of(take, cast.kid, start_ms=20_500)
    suggestions.accept(actor=cast.coach, suggestion=one)
    suggestions.accept_certain(actor=cast.coach, talk=take.talk)
    assert locked == [False, False]
    for made in (one, other):
        voice = fresh(made).comment.voice
        assert voice.length_ms == pytest.approx(4_000, abs=100)
        assert voice.sound_key in kept_sounds()
    assert [text for *_, text in Voice.objects.earliest("created_at").cues] == [
        "Ines, good closeout there."
    ]
    undo(actor=cast.coach, talk=take.talk)
    assert kept_sounds() == {fresh(one).comment.voice.sound_key}


@pytest.mark.django_db(transaction=True)
def test_what_is_rolled_back_leaves_no_sound(cast, take, monkeypatch):
    one = one_of(take, cast.kid)
    nobody = one_of(take)
    with pytest.raises(DomainError) as refusal:
        suggestions.accept(actor=cast.coach, suggestion=nobody)
    assert refusal.value.code == "players.none"
    touch = suggestions.touch

    def breaks(*_given):
        raise ZeroDivisionError

    monkeypatch.setattr(suggestions, "touch", breaks)
    for act in (
        lambda: suggestions.accept(actor=cast.coach, suggestion=one),
        lambda: suggestions.accept_certain(actor=cast.coach, talk=take.talk),
    ):
        with pytest.raises(ZeroDivisionError):
            act()
        assert kept_sounds() == set()
        assert not Comment.objects.exists()
        assert (fresh(one).state, fresh(one).with_voice) == ("open", True)
    monkeypatch.setattr(suggestions, "touch", touch)
    stale = fresh(one)
    suggestions.accept(actor=cast.coach, suggestion=fresh(one))
    with pytest.raises(DomainError):
        suggestions.accept(actor=cast.coach, suggestion=stale)
    assert kept_sounds() == {fresh(one).comment.voice.sound_key}
    assert Comment.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_what_another_tab_changed_while_the_sound_was_cut_is_not_accepted(cast, take, monkeypatch):
    one = one_of(take, cast.kid)
    real = sandbox.cut_voice

    def cut_voice(*given, **named):
        suggestions.set_voice(actor=cast.coach, suggestion=fresh(one), on=False)
        return real(*given, **named)

    monkeypatch.setattr(sandbox, "cut_voice", cut_voice)
    with pytest.raises(DomainError) as refusal:
        suggestions.accept(actor=cast.coach, suggestion=fresh(one))
    assert refusal.value.code == "suggestion.changed"
    assert (fresh(one).state, fresh(one).with_voice) == ("open", False)
    assert (kept_sounds(), Comment.objects.count()) == (set(), 0)


@pytest.mark.django_db
def test_a_learned_spelling_and_a_name_that_two_share_are_refused_as_well(cast, take):
    one = one_of(take, cast.kid)
    assert sounding.others_named(one) == []
    line = take.lines.get()
    line.text = "Ines, good closeout, like bumble."
    line.save()
    assert sounding.others_named(one) == []
    aliases.learn(actor=cast.coach, squad=cast.squad, player=cast.mate, heard="bumble", sure=True)
    assert sounding.others_named(one) == ["bumble"]
    one.players.add(cast.mate)
    assert sorted(sounding.others_named(one)) == ["Ines", "bumble"]
    line.text = "Ines, good closeout."
    line.save()
    one.players.set([cast.kid])
    make.make_player(squad=cast.squad, number="31", first_name="Ines", last_name="Dahl")
    assert sounding.others_named(one) == ["Ines"]


@pytest.mark.django_db
def test_the_page_says_it_before_and_offers_to_go_without(cast, take, client):
    both = one_of(take, cast.kid, cast.mate)
    with pytest.raises(DomainError) as refusal:
        suggestions.accept(actor=cast.coach, suggestion=both)
    assert refusal.value.code == "voice.names"
    assert "without your voice" in str(refusal.value)
    assert (fresh(both).state, Comment.objects.count()) == ("open", 0)
    client.force_login(cast.coach)
    page = reverse("talkthrough:correct", args=[take.talk_id])
    text = client.get(page).text
    assert "names another player: “Ines" in text
    silent = f"accept:{both.pk}:silent"
    assert silent in text
    client.post(reverse("talkthrough:do", args=[take.talk_id]), {"do": silent})
    assert (fresh(both).state, fresh(both).with_voice) == ("accepted", False)
    assert not Voice.objects.exists()
    undo(actor=cast.coach, talk=take.talk)
    assert (fresh(both).state, fresh(both).with_voice) == ("open", True)


@pytest.mark.django_db
def test_more_than_a_minute_is_said_where_the_voice_would_be_offered(cast, take, client):
    client.force_login(cast.coach)
    page = reverse("talkthrough:correct", args=[take.talk_id])
    one = one_of(take, cast.kid, with_voice=False)
    assert f"voice:{one.pk}:on" in client.get(page).text
    Suggestion.objects.filter(pk=one.pk).update(
        sound_start_ms=0, sound_end_ms=stretch.LONGEST_MS + 1
    )
    text = client.get(page).text
    assert "Keep it under a minute" in text
    assert f"voice:{one.pk}:on" not in text
    with pytest.raises(DomainError) as refusal:
        suggestions.set_voice(actor=cast.coach, suggestion=fresh(one), on=True, agreed=True)
    assert refusal.value.code == "voice.long"
