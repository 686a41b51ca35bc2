"""The coach's voice that goes along with a comment: who may give it, whom it may name, who hears
it, and when it is gone."""

from pathlib import Path

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import default_storage
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.feedback import checking, cutting, services
from devplans.feedback.models import Clip, Comment, CommentVersion, Voice
from devplans.feedback.voices import services as voices
from devplans.film import sandbox
from devplans.film import services as films
from devplans.film.faults import CRASHED, MediaError, NotAFilm
from tests import factories as make
from tests.feedback.spoken import (
    LOG,
    WORDS,
    cutting_with,
    draft,
    keep,
    kept_sounds,
    on_a_film,
    send,
    sent_and_cut,
)


def test_a_stretch_is_kept_with_its_own_log_and_words(spoken):
    comment = draft(spoken)
    voice = keep(spoken, comment)
    voice.refresh_from_db()
    assert spoken.asked == [("take", 4_000, 7_000)]
    assert voice.length_ms == 3_000
    assert voice.log == [
        {"at": 0, "film_ms": 7_000, "rate": 1.0}, {"at": 2_000, "film_ms": 9_000, "rate": 0.0},
    ]  # fmt: skip
    assert voice.cues == WORDS
    assert kept_sounds() == {voice.sound_key}
    assert AuditEntry.objects.filter(verb="feedback.voice_kept").count() == 1
    send(spoken, comment)
    clip = Clip.objects.get()
    assert (clip.start_ms, clip.end_ms) == (7_000, 9_000)


def test_where_the_recording_ends_early_so_do_log_and_words(spoken, monkeypatch):
    real = sandbox.cut_voice
    monkeypatch.setattr(
        sandbox, "cut_voice", lambda *args, **options: real(*args, **options) - 1_400
    )
    voice = keep(spoken, draft(spoken))
    assert voice.length_ms == 1_600
    assert [entry["at"] for entry in voice.log] == [0]
    assert voice.cues == [[0, 1_500, WORDS[0][2]], [1_500, 1_600, WORDS[1][2]]]


def test_a_second_voice_takes_the_place_of_the_first(spoken, django_capture_on_commit_callbacks):
    comment = draft(spoken)
    with django_capture_on_commit_callbacks(execute=True):
        keep(spoken, comment)
        second = keep(spoken, comment, start_ms=0, end_ms=2_000)
    assert Voice.objects.get().sound_key == second.sound_key
    assert kept_sounds() == {second.sound_key}


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"start_ms": 0, "end_ms": 60_001}, "voice.long"),
        ({"start_ms": 900, "end_ms": 900}, "voice.long"),
        ({"start_ms": -1}, "voice.long"),
        ({"log": {"at": 0}}, "voice.log"),
        ({"log": [{"at": 0, "film_ms": -1, "rate": 1}]}, "voice.log"),
        ({"cues": "words"}, "voice.cues"),
        ({"cues": [[0, 1]]}, "voice.cues"),
        ({"cues": [[0, "1", "words"]]}, "voice.cues"),
        ({"cues": [[0, 900, "x" * 501]]}, "voice.cues"),
        ({"cues": [[0, 900, "x"]] * 301}, "voice.cues"),
        ({"source_key": "talk/nothing-there"}, "voice.sound"),
        ({"cues": [[0, 900, "Look how Runa turns"]]}, "voice.names"),
        ({"cues": [[0, 900, "ask number seven"]]}, "voice.names"),
        ({"cues": [[0, 900, "and then Runa"], [900, 1_900, "Lindqvist helps"]]}, "voice.names"),
    ],
)
def test_what_cannot_go_along_says_why(spoken, changes, code, monkeypatch):
    def cut_voice(source, *_rest, **_options):
        Path(source).open("rb").close()

    monkeypatch.setattr(sandbox, "cut_voice", cut_voice)
    with pytest.raises(DomainError) as refused:
        keep(spoken, draft(spoken), **changes)
    assert refused.value.code == code
    if code == "voice.names":
        assert "Runa" in str(refused.value) or "seven" in str(refused.value)
    assert not Voice.objects.exists()
    assert kept_sounds() == set()


def test_a_recording_that_cannot_be_read_is_no_voice(spoken, monkeypatch):
    def broken(*_arguments, **_options):
        raise NotAFilm("This recording cannot be read.")

    monkeypatch.setattr(sandbox, "cut_voice", broken)
    with pytest.raises(DomainError, match="cannot be read") as refused:
        keep(spoken, draft(spoken))
    assert refused.value.code == "voice.sound"


def test_words_in_a_stroke_name_nobody_either(spoken):
    text = {"kind": "text", "points": [[0.5, 0.5]], "text": "Runa"}
    log = [*LOG, {"at": 6_100, "until": 6_500, "shape": text}]
    with pytest.raises(DomainError, match="Runa"):
        keep(spoken, draft(spoken), log=log)
    gone = [*LOG, {"at": 7_100, "until": 7_500, "shape": text}]
    assert keep(spoken, draft(spoken), log=gone)


def test_too_much_drawing_is_refused(spoken):
    line = {"kind": "line", "points": [[0, 0], [1, 1]]}
    log = [LOG[0], *({"at": 4_000 + n, "until": 4_000 + n, "shape": line} for n in range(121))]
    with pytest.raises(DomainError, match="Too much is drawn"):
        keep(spoken, draft(spoken), log=log)


def test_one_player_hears_his_own_name_and_several_hear_none(spoken):
    own = [[0, 900, "Ines Okafor, that was early"]]
    assert keep(spoken, draft(spoken), cues=own).cues == own
    for words in (own, [[0, 900, "Runa waits"]]):
        with pytest.raises(DomainError, match="another player"):
            keep(spoken, draft(spoken, spoken.kid, spoken.mate), cues=words)
    assert keep(spoken, draft(spoken, spoken.kid, spoken.mate), cues=WORDS)


def test_only_those_to_whom_a_draft_is_open_give_or_take_its_voice(spoken):
    second = make.make_user("Zelda")
    make.make_member(second, "coach", club=spoken.club, squad=spoken.squad)
    comment = draft(spoken)
    keep(spoken, comment)
    for who in (second, spoken.other_coach, spoken.director, spoken.player, spoken.guardian):
        with pytest.raises(PermissionDenied):
            keep(spoken, comment, actor=who)
        with pytest.raises(PermissionDenied):
            voices.drop_voice(actor=who, comment=comment)
    services.hand_over(actor=spoken.coach, comment=comment)
    comment.refresh_from_db()
    voices.drop_voice(actor=second, comment=comment)
    assert not Voice.objects.exists()
    send(spoken, draft(spoken, start_ms=5_000))
    with pytest.raises(DomainError, match="has been sent"):
        keep(spoken, Comment.objects.sent().get())


def test_when_the_players_change_the_rule_is_asked_again(spoken, client):
    comment = draft(spoken)
    keep(spoken, comment, cues=[[0, 900, "Ines, feet first"]])
    services.edit_comment(actor=spoken.coach, comment=comment, players=[spoken.kid, spoken.mate])
    comment = Comment.objects.get(pk=comment.pk)
    with pytest.raises(services.NotSendable, match="names another player: “Ines”"):
        send(spoken, comment)
    with pytest.raises(DomainError, match="nothing that could be sent"):
        services.send_film(actor=spoken.coach, film=spoken.film, players=[spoken.kid, spoken.mate])
    check = checking.check(spoken.film, spoken.coach)
    assert check.ready == []
    assert any("Your voice names" in remark for remark in check.pages[0].remarks)
    client.force_login(spoken.coach)
    page = client.get(reverse("feedback:check", args=[spoken.film.pk])).text
    assert "Your voice says “Ines”" in page
    address = reverse("feedback:voice-drop", args=[comment.pk])
    assert address in page
    answer = client.post(address, {"next": "check"}, follow=True)
    assert "Your voice stays here" in answer.text
    assert reverse("feedback:voice", args=[comment.pk]) not in answer.text
    send(spoken, Comment.objects.get(pk=comment.pk))


def test_check_and_send_says_that_the_voice_goes_along_and_plays_it(spoken, client):
    comment = draft(spoken)
    keep(spoken, comment)
    client.force_login(spoken.coach)
    page = client.get(reverse("feedback:check", args=[spoken.film.pk])).text
    assert "Your voice goes along, 0:03" in page
    address = reverse("feedback:voice", args=[comment.pk])
    assert f'src="{address}"' in page
    answer = client.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "audio/mp4")
    assert answer.content == b"sound 1"
    assert client.get(reverse("feedback:voice", args=[draft(spoken).pk])).status_code == 404


def test_a_part_that_is_held_back_keeps_the_voice_while_the_other_goes(
    spoken, django_capture_on_commit_callbacks
):
    comment = draft(spoken, spoken.kid, spoken.mate)
    keep(spoken, comment)
    services.send_film(actor=spoken.coach, film=spoken.film, players=[spoken.kid])
    held = Comment.objects.drafts().get()
    assert list(held.players.all()) == [spoken.mate]
    assert held.voice.sound_key == Comment.objects.get(pk=comment.pk).voice.sound_key
    with django_capture_on_commit_callbacks(execute=True):
        voices.drop_voice(actor=spoken.coach, comment=held)
    assert len(kept_sounds()) == 1
    with django_capture_on_commit_callbacks(execute=True):
        voices.drop_voice(actor=spoken.coach, comment=Comment.objects.get(pk=comment.pk))
    assert kept_sounds() == set()


def test_correcting_keeps_the_voice_or_takes_it_out_of_the_clip_at_once(
    spoken, client, monkeypatch, django_capture_on_commit_callbacks
):
    on_a_film(spoken)
    cuts = cutting_with(monkeypatch, NotAFilm("no voice"))
    comment = draft(spoken)
    keep(spoken, comment)
    delivery = sent_and_cut(spoken, comment)
    comment = Comment.objects.get(pk=comment.pk)
    services.correct_comment(actor=spoken.coach, comment=comment, start_ms=4_000)
    assert Voice.objects.filter(comment=comment).exists()
    assert [clip.version for clip in comment.clips.order_by("version")] == [1, 2]
    old_clip = comment.clips.get(version=1).video_key
    client.force_login(spoken.coach)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("feedback:voice-drop", args=[comment.pk]))
    comment = Comment.objects.get(pk=comment.pk)
    assert comment.version == 3
    assert CommentVersion.objects.filter(comment=comment).count() == 2
    assert not Voice.objects.exists()
    assert kept_sounds() == set()
    assert not default_storage.exists(old_clip)
    newest = comment.clips.get(version=3)
    assert (newest.state, newest.voiced, newest.problem) == ("ready", False, "")
    assert [(cut["start_ms"], cut["end_ms"]) for cut in cuts] == [(1_000, 7_000)]
    delivery.refresh_from_db()
    assert delivery.version == 3
    assert client.get(reverse("feedback:captions", args=[delivery.pk])).status_code == 404
    assert client.get(reverse("feedback:clip", args=[delivery.pk])).content == b"a plain clip"
    assert (
        services.correct_comment(actor=spoken.coach, comment=comment, drop_voice=True).version == 3
    )


@pytest.mark.parametrize("how", ["draft", "film"])
def test_what_is_deleted_takes_its_sound_along(spoken, how, django_capture_on_commit_callbacks):
    comment = draft(spoken)
    keep(spoken, comment)
    assert len(kept_sounds()) == 1
    with django_capture_on_commit_callbacks(execute=True):
        if how == "draft":
            services.delete_draft(actor=spoken.coach, comment=comment)
        else:
            films.delete_film(actor=spoken.coach, film=spoken.film)
    assert kept_sounds() == set()


def test_a_deleted_clip_takes_its_files_along(spoken, django_capture_on_commit_callbacks):
    comment = draft(spoken)
    keep(spoken, comment)
    sent_and_cut(spoken, comment)
    key = Clip.objects.get().video_key
    with django_capture_on_commit_callbacks(execute=True):
        Comment.objects.get(pk=comment.pk).delete()
    assert not default_storage.exists(key)
    assert kept_sounds() == set()


def test_where_the_voice_cannot_be_put_to_the_film_the_plain_clip_is_cut(spoken, monkeypatch):
    on_a_film(spoken)
    cuts = cutting_with(monkeypatch, NotAFilm("This film took too long to read."))
    comment = draft(spoken)
    keep(spoken, comment)
    send(spoken, comment)
    clip = Clip.objects.get()
    assert cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    assert (clip.state, clip.voiced) == ("ready", False)
    assert "too long" in clip.problem
    assert [(cut["start_ms"], cut["end_ms"]) for cut in cuts] == [(0, 6_000)]


def test_a_fault_that_may_pass_is_tried_again_before_the_voice_is_given_up(spoken, monkeypatch):
    on_a_film(spoken)
    cuts = cutting_with(monkeypatch, MediaError(CRASHED))
    comment = draft(spoken)
    keep(spoken, comment)
    send(spoken, comment)
    clip = Clip.objects.get()
    done = [cutting.cut_clip(clip.pk) for _attempt in range(cutting.MAX_ATTEMPTS)]
    assert done == [False] * (cutting.MAX_ATTEMPTS - 1) + [True]
    assert len(cuts) == 1
    clip.refresh_from_db()
    assert (clip.state, clip.voiced, clip.lease_until) == ("ready", False, None)
