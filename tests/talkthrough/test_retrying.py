"""What breaks fails at once, with the words kept, and its coach may try again."""

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.talkthrough import captions, speech, speech_faults, tasks, writing
from devplans.talkthrough.models import TalkThrough
from devplans.talkthrough.services import retrying, transcripts, understanding
from devplans.talkthrough.services.understanding import NOT_UNDERSTOOD, read_again
from devplans.talkthrough.understand.parts import Cue
from tests import factories as make
from tests.talkthrough.talks import a_talk, say

pytestmark = pytest.mark.django_db
WORDS = "Ines, good closeout, short steps."


@pytest.fixture
def film(cast):
    return make.make_film(cast.squad, duration_ms=600_000)


@pytest.fixture
def broken(monkeypatch):
    """Understanding breaks until `broken.clear()`."""
    faults, real = [ZeroDivisionError], understanding.understood

    def understood(*given):
        if faults:
            raise faults[0]
        return real(*given)

    monkeypatch.setattr(understanding, "understood", understood)
    return faults


@pytest.fixture
def recorded(cast, film, monkeypatch):
    """A recording that waits, and ears that hear one line in it, or break as they are told."""
    talk = a_talk(film, cast.coach, kind="whole", state="waiting")
    key = default_storage.save(f"talk/{talk.pk}/0/0", ContentFile(b"sound"))
    take = talk.takes.create(
        number=0, length_ms=5_000, mime="audio/webm", log=[{"at": 0, "film_ms": 0, "rate": 1}]
    )
    take.pieces.create(number=0, key=key, size=5)
    talk.fault = None
    talk.listened = []

    def listen(path, *, on_heard, from_ms=0, **_rest):
        talk.listened.append(path.read_bytes())
        if talk.fault:
            raise talk.fault
        on_heard([Cue(0, 4_000, WORDS)], 5_000, 5_000)
        return 5_000

    monkeypatch.setattr(speech, "listen", listen)
    monkeypatch.setattr(speech, "why_not", lambda: "")
    return talk


def now(talk):
    return TalkThrough.objects.get(pk=talk.pk)


def retry(client, talk):
    """Presses the button that stands on the page; what is there then."""
    page = reverse("talkthrough:correct", args=[talk.pk])
    assert 'value="retry"' in client.get(page).text
    do = reverse("talkthrough:do", args=[talk.pk])
    return client.post(do, {"do": "retry"}, follow=True).text


def test_a_transcript_that_breaks_says_so_at_once_and_can_be_tried_again(
    cast, film, client, broken
):
    read = captions.read(f"0:01 {WORDS}")
    talk = transcripts.add_transcript(actor=cast.coach, film=film, transcript=read)
    assert not transcripts.understand_now(talk_id=talk.pk)
    failed = now(talk)
    assert (failed.state, failed.problem) == ("failed", NOT_UNDERSTOOD)
    assert (failed.lease_until, failed.lines.count()) == (None, 1)
    assert transcripts.understand_waiting() == 0
    client.force_login(cast.coach)
    page = client.get(reverse("talkthrough:correct", args=[talk.pk])).text
    assert NOT_UNDERSTOOD in page
    assert "every 3s" not in page
    assert NOT_UNDERSTOOD in retry(client, talk)
    assert now(talk).state == "failed"
    broken.clear()
    assert "short steps" in retry(client, talk)
    assert (now(talk).state, now(talk).problem, now(talk).suggestions.count()) == ("ready", "", 1)


def test_a_large_transcript_goes_back_to_the_worker(
    cast, film, broken, monkeypatch, django_capture_on_commit_callbacks
):
    read = captions.read(f"0:01 {WORDS}\n0:20 Runa, you are late.")
    talk = transcripts.add_transcript(actor=cast.coach, film=film, transcript=read)
    transcripts.understand_now(talk_id=talk.pk)
    monkeypatch.setattr(transcripts, "AT_ONCE", 1)
    broken.clear()
    with django_capture_on_commit_callbacks() as rung:
        retrying.try_again(actor=cast.coach, talk=talk)
    assert (now(talk).state, len(rung)) == ("waiting", 1)
    assert tasks.understand_waiting() == 1
    assert now(talk).state == "ready"


def test_a_recording_whose_words_break_keeps_them_and_is_not_heard_again(
    cast, client, broken, recorded
):
    assert writing.write_down(recorded.pk)
    failed = now(recorded)
    assert (failed.state, failed.problem) == ("failed", NOT_UNDERSTOOD)
    assert (failed.lease_until, failed.lease_token, failed.progress) == (None, None, 0)
    assert [line.text for line in failed.lines.all()] == [WORDS]
    client.force_login(cast.coach)
    broken.clear()
    assert "being written down" in retry(client, recorded)
    assert (now(recorded).state, writing.due_ids()) == ("waiting", [recorded.pk])
    assert writing.write_down(recorded.pk)
    assert (now(recorded).state, now(recorded).suggestions.count()) == ("ready", 1)
    assert recorded.listened == [b"sound"]


@pytest.mark.parametrize("fault", [ZeroDivisionError("unforeseen"), MemoryError()])
def test_a_recording_whose_writing_breaks_is_heard_anew(cast, client, recorded, fault):
    recorded.fault = fault
    assert writing.write_down(recorded.pk)
    assert (now(recorded).state, now(recorded).problem) == ("failed", speech_faults.CRASHED)
    assert now(recorded).lease_until is None
    recorded.fault = None
    client.force_login(cast.coach)
    retry(client, recorded)
    assert writing.write_down(recorded.pk)
    assert (now(recorded).state, now(recorded).problem) == ("ready", "")
    assert recorded.listened == [b"sound"] * 2


def test_a_worker_that_is_killed_while_it_understands_is_followed_by_another(recorded, monkeypatch):
    def killed(*_given):
        raise SystemExit

    real = understanding.understood
    monkeypatch.setattr(understanding, "understood", killed)
    with pytest.raises(SystemExit):
        writing.write_down(recorded.pk)
    left = now(recorded)
    assert (left.state, writing.due_ids()) == ("writing", [])
    assert left.lease_until > timezone.now()
    monkeypatch.setattr(understanding, "understood", real)
    late = timezone.now() - writing.LEASE
    TalkThrough.objects.filter(pk=recorded.pk).update(lease_until=late)
    assert writing.due_ids() == [recorded.pk]
    writing.write_down(recorded.pk)
    assert now(recorded).state == "ready"
    assert recorded.listened == [b"sound"]


def test_nothing_to_try_again_with(cast, film, client, recorded):
    client.force_login(cast.coach)
    empty = a_talk(film, cast.coach, kind="whole", state="failed", problem="It broke.")
    page = reverse("talkthrough:correct", args=[empty.pk])
    assert 'value="retry"' not in client.get(page).text
    for talk in (empty, recorded, a_talk(film, cast.coach)):
        with pytest.raises(DomainError) as refusal:
            retrying.try_again(actor=cast.coach, talk=talk)
        assert refusal.value.code == "talk.no_retry"
    answer = client.post(reverse("talkthrough:do", args=[empty.pk]), {"do": "retry"}, follow=True)
    assert "There is nothing of it to try again with." in answer.text
    with pytest.raises(PermissionDenied):
        retrying.try_again(actor=cast.other_coach, talk=recorded)
    assert now(recorded).state == "waiting"


def test_reading_again_that_breaks_leaves_all_as_it_was(cast, film, client, broken):
    talk = a_talk(film, cast.coach)
    say(talk, 1, 5, WORDS)
    one = talk.suggestions.create(place=1, start_ms=1_000, verdict="did_it", sound_end_ms=900)
    with pytest.raises(DomainError) as refusal:
        read_again(actor=cast.coach, talk=talk)
    assert (refusal.value.code, str(refusal.value)) == ("talk.not_understood", NOT_UNDERSTOOD)
    assert list(now(talk).suggestions.all()) == [one]
    assert now(talk).state == "ready"
