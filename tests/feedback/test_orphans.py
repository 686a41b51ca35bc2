"""Files that a killed process left go after a day; those that a row names stay, and all others."""

import io
import os
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from devplans.feedback import orphans, tasks
from devplans.feedback.cliplists import services as cliplists
from devplans.feedback.models import Clip, ListClip, Voice
from devplans.feedback.voices import stretch
from tests.feedback.spoken import LOG, draft, keep, kept_sounds, sent_and_cut

OLD_S = 25 * 3600


def kept(key, *, age_s=OLD_S):
    key = default_storage.save(key, io.BytesIO(b"of a child"))
    return aged(key, age_s)


def aged(key, age_s=OLD_S):
    at = timezone.now().timestamp() - age_s
    os.utime(default_storage.path(key), (at, at))
    return key


def a_cut_nobody_kept(room):
    """As after a kill between the cut and the commit."""
    sound = stretch.cut_sound(
        film=room.film, players=[room.kid], source_key="talk/take", start_ms=0, end_ms=900,
        log=LOG, cues=[],
    )  # fmt: skip
    return sound.key


def test_a_voice_that_no_comment_has_goes_after_a_day(spoken):
    named = aged(keep(spoken, draft(spoken)).sound_key)
    lost, fresh = aged(a_cut_nobody_kept(spoken)), a_cut_nobody_kept(spoken)
    nested = kept("voices/0190c5a0/b.m4a")
    assert tasks.sweep_files() == 2
    assert kept_sounds() == {named, fresh}
    assert not default_storage.exists(lost)
    assert not default_storage.exists(nested)
    assert orphans.sweep_files() == 0
    assert orphans.sweep_files(now=timezone.now() + timedelta(days=2)) == 1
    assert kept_sounds() == {Voice.objects.get().sound_key} == {named}


def test_a_clip_without_a_row_goes_and_nothing_else_is_touched(spoken):
    sent_and_cut(spoken, draft(spoken))
    clip = Clip.objects.get()
    Clip.objects.update(still_key=kept(f"clips/{clip.pk}/a.jpg"))
    aged(clip.video_key)
    held = cliplists.add_list(actor=spoken.coach, squad=spoken.squad, title="To show")
    span = {"film": spoken.film, "start_ms": 0, "end_ms": 2_000}
    item = cliplists.add_span(actor=spoken.coach, clip_list=held, **span)
    ListClip.objects.create(item=item, start_ms=0, end_ms=2_000, video_key=kept("lists/1/a.mp4"))
    lost = [kept(f"clips/{clip.pk}/b.mp4"), kept("clips/gone/a.jpg"), kept("lists/1/b.mp4")]
    others = [kept("films/1/original"), kept("talk/1/0/0"), kept("voices.txt")]
    assert orphans.sweep_files() == len(lost)
    assert not any(default_storage.exists(key) for key in lost)
    clip.refresh_from_db()
    stays = [clip.video_key, clip.still_key, "lists/1/a.mp4", *others]
    assert all(default_storage.exists(key) for key in stays)


@pytest.mark.django_db
def test_where_nothing_was_ever_kept_nothing_goes():
    assert orphans.sweep_files() == 0


def test_more_than_one_question_to_the_database(spoken, monkeypatch):
    monkeypatch.setattr("devplans.film.storing.MOST_ASKED", 2)
    named = aged(keep(spoken, draft(spoken)).sound_key)
    for _number in range(4):
        aged(a_cut_nobody_kept(spoken))
    assert orphans.sweep_files() == 4
    assert kept_sounds() == {named}
