"""Comments with a voice, without any sound being cut."""

import io
from pathlib import Path

import pytest
from django.core.files.storage import default_storage

from devplans.feedback import cutting, services
from devplans.feedback.models import Clip, Delivery
from devplans.feedback.voices import services as voices
from devplans.film import sandbox
from tests import factories as make

LOG = [{"at": 0, "film_ms": 3_000, "rate": 1}, {"at": 6_000, "film_ms": 9_000, "rate": 0}]
WORDS = [[0, 1_500, "Feet first, then the hands."], [1_500, 2_900, "There you are late."]]


@pytest.fixture
def cut(monkeypatch):
    """Sound is not really cut: each stretch is a file of a few bytes. What was asked for."""
    asked = []

    def cut_voice(source, out, *, start_ms, end_ms):
        asked.append((Path(source).name, start_ms, end_ms))
        Path(out).write_bytes(b"sound %d" % len(asked))
        return end_ms - start_ms

    monkeypatch.setattr(sandbox, "cut_voice", cut_voice)
    default_storage.save("talk/take", io.BytesIO(b"a recording"))
    return asked


@pytest.fixture
def spoken(room, cut):
    room.asked = cut
    return room


def draft(room, *players, **fields):
    chosen = players or (room.kid,)
    return make.make_comment(room.film, room.coach, chosen, **{"skill": room.skill, **fields})


def keep(room, comment, **changes):
    given = {"source_key": "talk/take", "start_ms": 4_000, "end_ms": 7_000, "log": LOG}
    given |= {"cues": WORDS, "actor": room.coach}
    return voices.keep_voice(comment=comment, **(given | changes))


def send(room, *comments):
    return services.send_comments(actor=room.coach, comments=comments)


def sent_and_cut(room, comment):
    """As if the worker had made the clip with the voice."""
    send(room, comment)
    clip = Clip.objects.filter(comment=comment).order_by("-version").first()
    key = default_storage.save(f"clips/{clip.pk}/a.mp4", io.BytesIO(b"a clip with a voice"))
    Clip.objects.filter(pk=clip.pk).update(state="ready", voiced=True, video_key=key)
    return Delivery.objects.get(comment=comment, player=room.kid)


def kept_sounds():
    try:
        return {f"voices/{name}" for name in default_storage.listdir("voices")[1]}
    except FileNotFoundError:
        return set()


def cutting_with(monkeypatch, fault):
    """Stills and plain clips can be cut, voices cannot be played back."""
    cuts = []

    def play_back(*_arguments, **_options):
        raise fault

    def cut_clip(_source, out, **options):
        cuts.append(options)
        Path(out).write_bytes(b"a plain clip")

    monkeypatch.setattr(cutting.sandbox, "play_back", play_back)
    monkeypatch.setattr(cutting.sandbox, "cut_clip", cut_clip)
    monkeypatch.setattr(cutting.sandbox, "still", lambda *_args, **_options: b"a still")
    return cuts


def on_a_film(room):
    room.film.playable_key = default_storage.save("films/a/playable.mp4", io.BytesIO(b"film"))
    room.film.original_key = room.film.playable_key
    room.film.save()
