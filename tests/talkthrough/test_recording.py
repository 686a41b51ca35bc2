"""A talk is kept as it comes: twice, late, in pieces, and by nobody but who said it."""

import json
from datetime import timedelta
from itertools import pairwise
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import Conflict, DomainError
from devplans.talkthrough import heard, hearing, speech, speech_faults, sweeping
from devplans.talkthrough.models import TalkPiece, TalkTake, TalkThrough
from devplans.talkthrough.services import recording
from devplans.talkthrough.understand.parts import Cue
from tests import factories as make

LOG = [{"at": 0, "film_ms": 61_200, "rate": 1}, {"at": 2_500, "film_ms": 63_700, "rate": 0}]
STROKE = {
    "at": 2_600,
    "until": 3_000,
    "shape": {"kind": "freehand", "points": [[0.1, 0.1], [0.4, 0.2]]},
}


@pytest.fixture
def film(cast):
    return make.make_film(cast.squad)


@pytest.fixture
def rung(monkeypatch):
    """The keys that the writing worker was rung for."""
    from devplans.talkthrough import tasks

    rung = []
    bell = SimpleNamespace(delay_on_commit=rung.append)
    monkeypatch.setattr(tasks, "write_down", bell)
    return rung


@pytest.fixture
def talk(cast, film):
    return recording.begin_talk(actor=cast.coach, film=film, talk_id=uuid4(), kind="whole")


@pytest.fixture
def take(cast, talk):
    return recording.begin_take(actor=cast.coach, talk=talk, number=0, mime="audio/webm")


def kept(talk):
    pieces = TalkPiece.objects.filter(take__talk=talk).order_by("take__number", "number")
    found = []
    for piece in pieces:
        with default_storage.open(piece.key) as file:
            found.append(file.read())
    return found


def files_of(talk):
    try:
        folders, _files = default_storage.listdir(f"talk/{talk.pk}")
    except FileNotFoundError:
        return []
    return [
        f"{name}/{file}"
        for name in sorted(folders)
        for file in sorted(default_storage.listdir(f"talk/{talk.pk}/{name}")[1])
    ]


def keep(cast, take, *contents, first=0):
    for number, content in enumerate(contents, start=first):
        recording.keep_piece(actor=cast.coach, take=take, number=number, content=content)


def test_pieces_sent_twice_and_out_of_turn_are_kept_once_in_order(cast, talk, take):
    for number, content in [(0, b"one"), (2, b"three"), (1, b"two"), (0, b"one"), (2, b"three")]:
        recording.keep_piece(actor=cast.coach, take=take, number=number, content=content)
    assert kept(talk) == [b"one", b"two", b"three"]
    assert len(files_of(talk)) == 3
    with pytest.raises(Conflict):
        recording.keep_piece(actor=cast.coach, take=take, number=1, content=b"another")
    assert kept(talk) == [b"one", b"two", b"three"]


def test_begun_twice_is_one_talk_and_one_take(cast, film, talk, take):
    again = recording.begin_talk(actor=cast.coach, film=film, talk_id=talk.pk, kind="whole")
    assert again == talk
    assert recording.begin_take(actor=cast.coach, talk=talk, number=0, mime="audio/mp4") == take
    assert (TalkThrough.objects.count(), TalkTake.objects.count()) == (1, 1)
    with pytest.raises(Conflict):
        recording.begin_talk(actor=cast.coach, film=film, talk_id=talk.pk, kind="moment")
    with pytest.raises(DomainError, match="no kind"):
        recording.begin_talk(actor=cast.coach, film=film, talk_id=uuid4(), kind="transcript")


def test_nobody_else_adds_to_a_talk(cast, film, talk, take):
    second = make.make_user("Sigrun")
    make.make_member(second, "coach", club=cast.club, squad=cast.squad)
    for other in (second, cast.director, cast.other_coach, cast.player, cast.guardian):
        acts = [
            lambda who=other: recording.keep_piece(actor=who, take=take, number=0, content=b"x"),
            lambda who=other: recording.note_log(actor=who, take=take, log=LOG),
            lambda who=other: recording.finish_talk(actor=who, talk=talk),
            lambda who=other: recording.delete_talk(actor=who, talk=talk),
            lambda who=other: recording.begin_take(
                actor=who, talk=talk, number=1, mime="audio/webm"
            ),
        ]
        for act in acts:
            with pytest.raises(PermissionDenied):
                act()
        assert talk not in TalkThrough.objects.visible_to(other)
    with pytest.raises(PermissionDenied):
        recording.begin_talk(actor=cast.director, film=film, talk_id=uuid4(), kind="whole")
    assert kept(talk) == []


def test_the_newest_log_stays_and_a_bad_one_is_refused(cast, take):
    recording.note_log(actor=cast.coach, take=take, log=LOG)
    recording.note_log(actor=cast.coach, take=take, log=[*LOG, STROKE])
    recording.end_take(actor=cast.coach, take=take, length_ms=4_000)
    recording.note_log(actor=cast.coach, take=take, log=LOG)
    take.refresh_from_db()
    assert take.log == [*LOG, STROKE]
    for bad in ("words", [{"at": -1, "film_ms": 0, "rate": 1}], [*LOG, LOG[0]], [{"at": 0}]):
        with pytest.raises(DomainError) as refused:
            recording.note_log(actor=cast.coach, take=take, log=bad)
        assert refused.value.code == "log.bad"


def test_limits_are_told_in_words(cast, talk, take, settings):
    def refuses(code, **piece):
        with pytest.raises(DomainError) as refused:
            recording.keep_piece(actor=cast.coach, take=take, **piece)
        assert refused.value.code == code
        assert str(refused.value)

    refuses("piece.empty", number=0, content=b"")
    refuses("piece.size", number=0, content=bytes(recording.MOST_PIECE_BYTES + 1))
    refuses("take.long", number=recording.MOST_PIECES, content=b"x")
    settings.TALK_MAX_BYTES = 10
    keep(cast, take, b"12345678")
    refuses("talk.size", number=1, content=b"123")
    with pytest.raises(DomainError, match="cannot read"):
        recording.begin_take(actor=cast.coach, talk=talk, number=1, mime="video/mp4")


def test_a_finished_talk_waits_to_be_written_down_once(cast, talk, take, rung):
    with pytest.raises(DomainError, match="Nothing was recorded"):
        recording.finish_talk(actor=cast.coach, talk=talk)
    keep(cast, take, b"one", b"two")
    recording.end_take(actor=cast.coach, take=take, length_ms=3_900)
    for _time in range(2):
        recording.finish_talk(actor=cast.coach, talk=talk)
    talk.refresh_from_db()
    assert talk.state == "waiting"
    assert rung == [str(talk.pk)]
    with pytest.raises(DomainError) as refused:
        keep(cast, take, b"three", first=2)
    assert refused.value.code == "talk.over"
    # What is here already may be sent again: its answer was lost.
    keep(cast, take, b"one", b"two")


def test_record_again_leaves_nothing_of_the_take(
    cast, talk, take, django_capture_on_commit_callbacks
):
    keep(cast, take, b"one", b"two")
    second = recording.begin_take(actor=cast.coach, talk=talk, number=1, mime="audio/webm")
    keep(cast, second, b"again")
    with django_capture_on_commit_callbacks(execute=True):
        for _time in range(2):
            recording.drop_take(actor=cast.coach, talk=talk, number=0)
    assert kept(talk) == [b"again"]
    assert len(files_of(talk)) == 1


def test_a_deleted_talk_takes_its_sound_and_words_with_it(
    cast, talk, take, django_capture_on_commit_callbacks
):
    keep(cast, take, b"one")
    talk.lines.create(
        place=0, start_ms=0, end_ms=900, film_start_ms=0, film_end_ms=900, text="Late."
    )
    with django_capture_on_commit_callbacks(execute=True):
        recording.delete_talk(actor=cast.coach, talk=talk)
    assert not TalkThrough.objects.exists()
    assert not TalkPiece.objects.exists()
    assert files_of(talk) == []


def test_a_page_that_died_is_written_down_and_may_come_back(cast, talk, take, rung):
    keep(cast, take, b"one")
    empty = recording.begin_talk(actor=cast.coach, film=talk.film, talk_id=uuid4(), kind="moment")
    now = timezone.now()
    assert sweeping.finish_left(now=now + timedelta(hours=23)) == 0
    assert sweeping.finish_left(now=now + timedelta(hours=25)) == 2
    talk.refresh_from_db()
    assert talk.state == "waiting"
    assert not TalkThrough.objects.filter(pk=empty.pk).exists()
    keep(cast, take, b"two", first=1)
    talk.refresh_from_db()
    assert talk.state == "recording"
    recording.end_take(actor=cast.coach, take=take, length_ms=4_000)
    recording.finish_talk(actor=cast.coach, talk=talk)
    assert kept(talk) == [b"one", b"two"]
    assert rung == [str(talk.pk)] * 2


def test_a_talk_that_was_left_overnight_goes_on(cast, talk, take, rung):
    keep(cast, take, b"one")
    recording.end_take(actor=cast.coach, take=take, length_ms=2_000)
    sweeping.finish_left(now=timezone.now() + timedelta(hours=25))
    TalkThrough.objects.filter(pk=talk.pk).update(state="writing")
    with pytest.raises(DomainError) as refused:
        recording.begin_take(actor=cast.coach, talk=talk, number=1, mime="audio/webm")
    assert refused.value.code == "talk.busy"
    TalkThrough.objects.filter(pk=talk.pk).update(state="ready")
    second = recording.begin_take(actor=cast.coach, talk=talk, number=1, mime="audio/webm")
    keep(cast, second, b"two")
    recording.end_take(actor=cast.coach, take=second, length_ms=2_000)
    recording.finish_talk(actor=cast.coach, talk=talk)
    talk.refresh_from_db()
    assert (talk.state, kept(talk)) == ("waiting", [b"one", b"two"])


@pytest.mark.parametrize(
    ("state", "days", "corrected", "is_kept"),
    [
        ("ready", 29, False, True),
        ("ready", 31, False, False),
        ("failed", 31, False, False),
        ("waiting", 31, False, False),
        ("recording", 31, False, True),
        ("ready", 2, True, False),
        ("ready", 0, True, True),
    ],
)
def test_sound_is_kept_no_longer_than_it_is_needed(
    cast, talk, take, django_capture_on_commit_callbacks, state, days, corrected, is_kept
):
    keep(cast, take, b"one")
    now = timezone.now()
    fields = {"state": state, "finished_at": now if corrected else None}
    TalkThrough.objects.filter(pk=talk.pk).update(**fields)
    with django_capture_on_commit_callbacks(execute=True):
        sweeping.delete_old_sound(now=now + timedelta(days=days))
    assert bool(files_of(talk)) is is_kept
    assert TalkPiece.objects.exists() is is_kept
    talk.refresh_from_db()
    assert talk.state == ("failed" if state == "waiting" else state)


def test_files_go_when_their_film_is_gone(cast, talk, take):
    keep(cast, take, b"one")
    assert sweeping.delete_orphans() == 0
    talk.film.delete()
    assert files_of(talk)
    assert sweeping.delete_orphans() == 1
    assert files_of(talk) == []


def test_sound_that_no_row_names_goes_after_a_day(cast, talk, take):
    keep(cast, take, b"one")
    named = files_of(talk)
    lost = default_storage.save(f"talk/{talk.pk}/0/sound.webm", ContentFile(b"all of it"))
    assert sweeping.sweep_files() == 0
    assert files_of(talk) == [*named, "0/sound.webm"]
    late = timezone.now() + timedelta(days=1, minutes=1)
    assert sweeping.sweep_files(now=late) == 1
    assert files_of(talk) == named
    talk.takes.update(sound_key=default_storage.save(lost, ContentFile(b"all of it")))
    assert sweeping.sweep_files(now=late) == 0


def test_a_browser_sends_it_all_by_address(cast, film, rung):
    client = Client()
    client.force_login(cast.coach)
    key = uuid4()

    def put(name, body, *arguments, raw=False):
        content = body if raw else json.dumps(body)
        kind = "audio/webm" if raw else "application/json"
        return client.put(reverse(f"talkthrough:{name}", args=arguments), content, kind)

    assert put("begin", {"kind": "moment", "person": "7"}, film.pk, key).status_code == 403
    assert put("begin", {"kind": "moment"}, film.pk, key).status_code == 200
    take = {"mime": "audio/webm;codecs=opus", "log": LOG[:1]}
    assert put("take", take, key, 0).status_code == 200
    for number in (0, 1, 1):
        assert put("piece", b"sound %d" % number, key, 0, number, raw=True).status_code == 200
    assert put("piece", b"", key, 0, 2, raw=True).status_code == 400
    assert put("piece", bytes(3_000_000), key, 0, 2, raw=True).status_code == 413
    assert put("piece", b"x", key, 1, 0, raw=True).status_code == 404
    assert put("take", take | {"log": LOG, "length_ms": 4_000}, key, 0).status_code == 200
    assert put("take", [], key, 0).status_code == 400
    assert client.post(reverse("talkthrough:recorded", args=[key])).status_code == 200
    found = client.get(reverse("talkthrough:lines", args=[key])).json()
    assert (found["state"], found["lines"]) == ("waiting", [])
    assert put("piece", b"late", key, 0, 5, raw=True).json()["code"] == "talk.over"
    talk = TalkThrough.objects.get(pk=key)
    assert kept(talk) == [b"sound 0", b"sound 1"]
    assert (talk.takes.get().log, talk.takes.get().length_ms) == (LOG, 4_000)
    page = client.get(reverse("talkthrough:over", args=[film.pk]))
    assert str(key) in page.content.decode()
    answer = client.post(reverse("talkthrough:delete", args=[key]), HTTP_ACCEPT="application/json")
    assert answer.json() == {"deleted": str(key)}


def test_what_is_understood_meanwhile_is_shown_and_nothing_is_made_of_it(
    cast, talk, take, monkeypatch
):
    asked = []
    said = {0: [("One.", 900), ("Tw", 1_500)], 900: [("Two.", 1_600), ("Thr", 2_000)]}

    def listen(path, *, from_ms, on_heard):
        asked.append((path.read_bytes(), from_ms))
        for words, ms in said[from_ms]:
            on_heard([Cue(ms - 500, ms, words)], ms, None)

    monkeypatch.setattr(speech, "listen", listen)
    keep(cast, take, b"one ", b"two ")
    assert hearing.hear_so_far(take.pk)
    assert hearing.words_of(talk) == ["One.", "Tw"]
    hearing.hear_so_far(take.pk)
    keep(cast, take, b"three", first=2)
    hearing.hear_so_far(take.pk)
    assert hearing.words_of(talk) == ["One.", "Two.", "Thr"]
    assert asked == [(b"one two ", 0), (b"one two three", 900)]
    assert not talk.lines.exists()
    recording.end_take(actor=cast.coach, take=take, length_ms=6_000)
    assert not hearing.hear_so_far(take.pk)
    assert heard.facts(talk)["so_far"] == ["One.", "Two.", "Thr"]


@pytest.mark.once
def test_listening_gets_seldomer_the_longer_a_take_is():
    times = [number for number in range(5_400) if hearing.is_time(number)]
    assert times[:3] == [2, 5, 8]
    gaps = [later - one for one, later in pairwise(times)]
    assert max(gaps) < 300
    # Each time the file is read from its beginning.
    assert sum(times) < 5_400 * 300


def test_a_server_that_cannot_listen_asks_for_a_transcript(cast, film, monkeypatch):
    client = Client()
    client.force_login(cast.coach)
    address = reverse("talkthrough:over", args=[film.pk])
    transcript = reverse("talkthrough:transcript", args=[film.pk])
    monkeypatch.setattr(speech, "available", lambda: False)
    monkeypatch.setattr(speech, "why_not", lambda: speech_faults.NOT_HERE)
    page = client.get(address).content.decode()
    assert "cannot write speech down" in page
    assert transcript in page
    assert 'data-talk="whole"' not in page
    monkeypatch.setattr(speech, "available", lambda: True)
    page = client.get(address).content.decode()
    assert 'data-talk="whole"' in page
    assert transcript in page


def test_the_newest_talks_are_on_the_film_page_and_the_rest_a_link_away(cast, film):
    for _number in range(5):
        newest = recording.begin_talk(actor=cast.coach, film=film, talk_id=uuid4(), kind="moment")
    done = recording.begin_talk(actor=cast.coach, film=film, talk_id=uuid4(), kind="whole")
    TalkThrough.objects.filter(pk=done.pk).update(finished_at=timezone.now())
    client = Client()
    client.force_login(cast.coach)
    page = client.get(reverse("talkthrough:over", args=[film.pk])).content.decode()
    assert page.count("<talk-heard data-talk=") == 3
    assert str(newest.pk) in page
    assert str(done.pk) not in page
    assert "2 more talks over this film" in page
    assert reverse("talkthrough:film", args=[film.pk]) in page
