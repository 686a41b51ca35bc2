"""A recorded talk becomes lines with film times: in turns, once each, whoever dies meanwhile."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from devplans.talkthrough import speech, speech_faults, tasks, writing
from devplans.talkthrough.models import TalkLine, TalkThrough
from devplans.talkthrough.speech import NoSpeech
from devplans.talkthrough.understand.parts import Cue
from tests import factories as make
from tests.talkthrough import sounds

State = TalkThrough.State


@pytest.fixture
def film(cast):
    return make.make_film(cast.squad)


@pytest.fixture
def a_talk(cast, film):
    """Makes a talk that waits; each of `takes` is a list of pieces."""

    def talk(*takes, kind="whole", lengths=None, logs=None):
        made = TalkThrough.objects.create(film=film, coach=cast.coach, kind=kind, state="waiting")
        for number, contents in enumerate(takes):
            take = made.takes.create(
                number=number,
                mime="audio/webm;codecs=opus",
                length_ms=(lengths or {}).get(number, 40_000),
                log=(logs or {}).get(number, [{"at": 0, "film_ms": 60_000, "rate": 1}]),
            )
            for place, content in enumerate(contents):
                key = f"talk/{made.pk}/{number}/{place}"
                key = default_storage.save(key, ContentFile(content))
                take.pieces.create(number=place, key=key, size=len(content))
        return made

    return talk


class Ears:
    """Stands for the engine: a stretch is 20 s, with one line; what is asked of it is noted."""

    def __init__(self, length_ms=40_000):
        self.length_ms = length_ms
        self.heard = []
        self.fails = {}
        self.between = lambda heard_ms: None

    def listen(self, path, *, on_heard, from_ms=0, cancelled=None, is_urgent=False):
        content = path.read_bytes()
        self.heard.append((content, from_ms))
        if error := self.fails.get(content):
            raise error
        for start in range(from_ms, self.length_ms, 20_000):
            self.between(start)
            end = start + 20_000
            on_heard([Cue(start, start + 5_000, f"words at {start}")], end, self.length_ms)
            if cancelled():
                raise speech.Stopped
        return self.length_ms


@pytest.fixture
def ears(monkeypatch):
    ears = Ears()
    monkeypatch.setattr(speech, "listen", ears.listen)
    monkeypatch.setattr(speech, "why_not", lambda: "")
    return ears


@pytest.fixture(autouse=True)
def suggested(monkeypatch):
    """The talks for which suggestions were made."""
    from devplans.talkthrough.services import understanding

    found = []
    monkeypatch.setattr(understanding, "suggest", lambda *, talk: found.append(talk.pk) or 0)
    return found


def lines_of(talk):
    return [(line.take.number, line.start_ms, line.film_start_ms) for line in talk.lines.all()]


def test_takes_are_written_down_one_after_the_other_with_their_film_times(a_talk, ears, suggested):
    still = [{"at": 0, "film_ms": 5_000, "rate": 0}, {"at": 20_000, "film_ms": 9_000, "rate": 0.5}]
    talk = a_talk([b"a", b"b"], [b"c"], logs={1: still})
    assert writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert (talk.state, talk.progress, talk.problem, talk.lease_until) == ("ready", 1, "", None)
    assert ears.heard == [(b"ab", 0), (b"c", 0)]
    assert lines_of(talk) == [
        (0, 0, 60_000),
        (0, 20_000, 80_000),
        (1, 0, 5_000),
        (1, 20_000, 9_000),
    ]
    assert talk.lines.last().film_end_ms == 11_500
    assert suggested == [talk.pk]
    assert not writing.write_down(talk.pk)


def test_pieces_become_one_file(a_talk, ears):
    talk = a_talk([b"a", b"b", b"c"])
    keys = [piece.key for piece in talk.takes.get().pieces.all()]
    writing.write_down(talk.pk)
    take = talk.takes.get()
    assert default_storage.open(take.sound_key).read() == b"abc"
    assert take.sound_key.endswith(".webm")
    assert not any(default_storage.exists(key) for key in keys)
    assert [piece.key for piece in take.pieces.all()] == ["", "", ""]


def test_a_take_that_never_ended_goes_on_when_more_of_it_comes(a_talk, ears):
    talk = a_talk([b"a", b"b"], lengths={0: None})
    writing.write_down(talk.pk)
    take = talk.takes.get()
    assert all(default_storage.exists(piece.key) for piece in take.pieces.all())
    key = default_storage.save(f"talk/{talk.pk}/0/2", ContentFile(b"c"))
    take.pieces.create(number=2, key=key, size=1)
    TalkThrough.objects.filter(pk=talk.pk).update(state=State.WAITING)
    ears.length_ms = 60_000
    writing.write_down(talk.pk)
    assert ears.heard == [(b"ab", 0), (b"abc", 40_000)]
    assert [start for _take, start, _film in lines_of(talk)] == [0, 20_000, 40_000]


def test_a_piece_that_is_gone_does_not_lose_the_rest(a_talk, ears):
    talk = a_talk([b"a", b"b", b"c"])
    default_storage.delete(talk.takes.get().pieces.get(number=1).key)
    writing.write_down(talk.pk)
    assert ears.heard == [(b"ac", 0)]


def test_a_take_that_cannot_be_read_does_not_lose_the_others(a_talk, ears, suggested):
    ears.fails[b"x"] = NoSpeech(speech_faults.BROKEN)
    talk = a_talk([b"a"], [b"x"], [b"b"])
    writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert talk.state == State.READY
    assert talk.problem.startswith("Part 2 of the recording: The sound of this file")
    assert {number for number, _start, _film in lines_of(talk)} == {0, 2}
    assert suggested == [talk.pk]


def test_one_that_gives_nothing_at_all_has_failed(a_talk, ears, suggested):
    ears.fails[b"x"] = NoSpeech(speech_faults.BROKEN)
    talk = a_talk([b"x"])
    writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert (talk.state, talk.problem) == (State.FAILED, speech_faults.BROKEN)
    assert suggested == []


def test_silence_is_ready_without_words(a_talk, ears):
    ears.length_ms = 0
    talk = a_talk([b"a"])
    writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert (talk.state, talk.problem, talk.lines.count()) == (State.READY, "", 0)


def test_where_no_engine_is_the_talk_says_so(a_talk, monkeypatch):
    monkeypatch.setattr(speech, "why_not", lambda: speech_faults.NOT_HERE)
    talk = a_talk([b"a"])
    writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert talk.state == State.FAILED
    assert "transcript" in talk.problem


def test_lines_and_progress_are_there_while_it_is_written(a_talk, ears):
    talk = a_talk([b"a"], [b"b"])
    seen = []

    def look(_heard_ms):
        talk.refresh_from_db()
        seen.append((talk.state, round(talk.progress, 2), talk.lines.count()))

    ears.between = look
    writing.write_down(talk.pk)
    assert seen == [
        ("writing", 0.0, 0), ("writing", 0.25, 1), ("writing", 0.5, 2), ("writing", 0.75, 3),
    ]  # fmt: skip


def test_a_killed_worker_is_followed_by_one_that_goes_on_behind_it(a_talk, ears):
    talk = a_talk([b"a"])

    def die(heard_ms):
        if heard_ms == 20_000:
            raise SystemExit

    ears.between = die
    with pytest.raises(SystemExit):
        writing.write_down(talk.pk)
    assert writing.due_ids() == []
    TalkThrough.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert writing.due_ids() == [talk.pk]
    ears.between = lambda heard_ms: None
    writing.write_down(talk.pk)
    assert ears.heard == [(b"a", 0), (b"a", 20_000)]
    assert [start for _take, start, _film in lines_of(talk)] == [0, 20_000]


def test_one_whose_lease_was_taken_over_writes_nothing_more(a_talk, ears):
    talk = a_talk([b"a"])

    def take_over(heard_ms):
        if heard_ms == 20_000:
            TalkThrough.objects.filter(pk=talk.pk).update(lease_token=uuid4())

    ears.between = take_over
    writing.write_down(talk.pk)
    assert lines_of(talk) == [(0, 0, 60_000)]
    assert TalkThrough.objects.get().state == State.WRITING


def test_one_that_is_deleted_meanwhile_leaves_no_files(a_talk, ears):
    talk = a_talk([b"a"])
    ears.between = lambda heard_ms: TalkThrough.objects.filter(pk=talk.pk).delete()
    writing.write_down(talk.pk)
    assert TalkLine.objects.count() == 0
    assert not default_storage.exists(f"talk/{talk.pk}")


def test_what_may_pass_is_tried_again_three_times(a_talk, ears):
    ears.fails[b"a"] = NoSpeech(speech_faults.NO_MEMORY, is_final=False)
    talk = a_talk([b"a"])
    for attempt in (1, 2):
        writing.write_down(talk.pk)
        talk.refresh_from_db()
        assert (talk.state, talk.attempts, talk.problem) == (
            State.WAITING, attempt, speech_faults.NO_MEMORY,
        )  # fmt: skip
        assert writing.due_ids() == []
        TalkThrough.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert (talk.state, talk.problem) == (State.FAILED, speech_faults.NO_MEMORY)


def test_a_long_talk_gives_way_after_a_minute_and_goes_on_later(a_talk, ears, monkeypatch):
    rung = []
    monkeypatch.setattr(tasks.write_down, "delay_on_commit", rung.append, raising=False)
    ears.length_ms = 120_000
    long = a_talk([b"long"], lengths={0: 120_000})
    short = a_talk([b"short"], lengths={0: 40_000})
    assert writing.write_next()
    long.refresh_from_db()
    assert (long.state, long.takes.get().heard_ms, rung) == ("waiting", 60_000, [str(short.pk)])
    ears.length_ms = 40_000
    writing.write_next()
    ears.length_ms = 120_000
    writing.write_next()
    assert ears.heard == [(b"long", 0), (b"short", 0), (b"long", 60_000)]
    assert set(TalkThrough.objects.values_list("state", flat=True)) == {"ready"}
    assert rung == [str(short.pk), str(long.pk)]
    assert not writing.write_next()


def test_a_talk_about_one_moment_goes_first_and_waits_for_nobody(a_talk, ears):
    first, second, third = (a_talk([b"a"]) for _number in range(3))
    moment = a_talk([b"m"], kind="moment")
    assert writing.due_ids() == [moment.pk, first.pk, second.pk]
    assert writing.claim(first.pk)
    assert writing.due_ids() == [moment.pk, second.pk]
    assert writing.claim(second.pk)
    assert writing.due_ids() == [moment.pk]
    assert third.pk not in writing.due_ids()


def test_the_beat_rings_for_what_waits_and_leaves_transcripts_alone(a_talk, monkeypatch):
    rung = []
    monkeypatch.setattr(tasks.write_down, "delay", rung.append)
    talk = a_talk([b"a"])
    a_talk(kind="transcript")
    assert tasks.write_waiting() == 1
    assert rung == [str(talk.pk)]


@pytest.mark.once
def test_a_spoken_moment_is_written_down(a_talk):
    """The way of a real one: Opus in WebM, in pieces, one of them broken on the way."""
    parts = sounds.pieces(sounds.webm(sounds.recording("two_cities.wav"), length_s=9), 6_000)
    parts[-2] = b"\xff" * len(parts[-2])
    talk = a_talk(parts, kind="moment", lengths={0: 9_000})
    assert writing.write_down(talk.pk)
    talk.refresh_from_db()
    assert (talk.state, talk.problem) == (State.READY, "")
    assert "best of times" in " ".join(line.text for line in talk.lines.all())
    first = talk.lines.first()
    assert first.film_start_ms == 60_000 + first.start_ms
    assert 500 < first.start_ms < 1_500
