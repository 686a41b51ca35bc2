"""A transcript comes in by a file or pasted, is looked at first, and becomes a talk."""

from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from devplans.talkthrough import captions, offsets
from devplans.talkthrough.models import TalkThrough
from devplans.talkthrough.services import transcripts
from tests import factories as make

WEBVTT = b"""WEBVTT

00:01.000 --> 00:05.000
Ines, good closeout, short steps.

nonsense --> 00:09.000
This cannot be placed.

00:20.000 --> 00:26.000
Runa, you are late on the help, start earlier.
"""
WHO = ("Ines", "Runa", "Tove")


@pytest.mark.once
@pytest.mark.parametrize(
    ("typed", "ms"),
    [("", 0), ("0", 0), ("1:05", 65_000), ("-0:20", -20_000), ("−0:20", -20_000),
     ("+2:00", 120_000), ("1:02:03", 3_723_000), ("12.5", 12_500), (" -1:00.250 ", -60_250)],
)  # fmt: skip
def test_offsets_are_read(typed, ms):
    assert offsets.parsed(typed) == ms


@pytest.mark.once
@pytest.mark.parametrize("typed", ["x", "1:75", "1:99:00", "--1", "1:2:3:4", "90000:00", "0:0,"])
def test_what_is_no_offset(typed):
    with pytest.raises(ValueError, match=r".*"):
        offsets.parsed(typed)


@pytest.mark.once
def test_offsets_are_told_as_they_are_typed():
    for ms in (0, 65_000, -20_000, 3_723_000):
        assert offsets.parsed(offsets.told(ms)) == ms


@pytest.fixture
def film(cast):
    make.make_skill(slug="closeout-technique", name="Closeout technique")
    return make.make_film(cast.squad, duration_ms=600_000)


@pytest.fixture
def coach(cast, client):
    client.force_login(cast.coach)
    return client


def pages(film):
    names = ("transcript", "transcript-accept")
    return [reverse(f"talkthrough:{name}", args=[film.pk]) for name in names]


@pytest.mark.django_db
def test_a_file_is_shown_first_and_then_kept(coach, film):
    look, keep = pages(film)
    page = coach.get(look).content.decode()
    assert "[1:05]" in page
    assert "6 MB" in page
    sent = {"file": SimpleUploadedFile("half.vtt", WEBVTT), "offset": "1:00"}
    page = coach.post(look, sent).content.decode()
    assert "line 6" in page
    assert "1:01" in page
    assert not TalkThrough.objects.exists()
    told = {"text": WEBVTT.decode(), "name": "half.vtt", "offset": "1:00"}
    answer = coach.post(keep, told)
    talk = TalkThrough.objects.get()
    assert answer.url == reverse("talkthrough:correct", args=[talk.pk])
    assert (talk.state, talk.kind, talk.file_name) == ("ready", "transcript", "half.vtt")
    assert [fault["line"] for fault in talk.faults] == [6]
    assert [line.film_start_ms for line in talk.lines.all()] == [61_000, 80_000]
    assert [one.start_ms for one in talk.suggestions.all()] == [61_000, 80_000]
    page = coach.get(answer.url).content.decode()
    assert "Ines" in page
    assert "1 line of the transcript could not be read" in page


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"text": ""}, "Choose a file, or paste its text."),
        ({"text": "no times at all"}, "No line of this file begins with a time."),
        ({"text": "0:01 Ines.", "offset": "soon"}, "minutes and seconds"),
        ({"file": SimpleUploadedFile("x.vtt", b"\x00\x01" * 50)}, "This is not a text file."),
        ({"file": SimpleUploadedFile("x.vtt", b"0:01 x\n" * 1_000_000)}, "6 MB"),
    ],
)
def test_what_cannot_be_taken_is_told(coach, film, told, words):
    answer = coach.post(pages(film)[0], told)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not TalkThrough.objects.exists()


@pytest.mark.django_db
def test_what_is_no_text_is_told_once(coach, film):
    told = {"file": SimpleUploadedFile("x.vtt", b"\x00\x01" * 50)}
    answer = coach.post(pages(film)[0], told).content.decode().partition("</main>")[0]
    assert answer.count('role="alert"') == 1
    assert "No words with times" not in answer


@pytest.mark.django_db
def test_one_that_misses_the_film_is_not_kept(coach, film):
    look, keep = pages(film)
    told = {"text": "0:01 Ines, good closeout.", "offset": "20:00"}
    assert "outside of the film" in coach.post(look, told).content.decode()
    assert coach.post(keep, told).status_code == 422
    assert not TalkThrough.objects.exists()
    answer = coach.post(keep, told | {"again": "1", "offset": "0:10"})
    assert answer.status_code == 200
    assert "0:11" in answer.content.decode()


@pytest.mark.django_db
def test_a_large_one_is_understood_in_the_background_and_only_once(
    coach, film, django_capture_on_commit_callbacks, monkeypatch
):
    lines = "\n".join(
        f"{at // 60}:{at % 60:02} {WHO[at % 3]}, good closeout {at}." for at in range(590)
    )
    read = captions.read(lines)
    talk = transcripts.add_transcript(actor=film_coach(film), film=film, transcript=read)
    assert talk.state == "waiting"
    page = coach.get(reverse("talkthrough:correct", args=[talk.pk])).content.decode()
    assert "being understood" in page
    monkeypatch.setattr(transcripts, "AT_ONCE", 30)
    with django_capture_on_commit_callbacks() as rung:
        transcripts.begin(talk=talk)
    talk.refresh_from_db()
    assert (talk.state, len(rung)) == ("waiting", 1)
    assert transcripts.understand_waiting() == 1
    assert not transcripts.understand_now(talk_id=talk.pk)
    talk.refresh_from_db()
    assert talk.state == "ready"
    assert talk.suggestions.exists()


@pytest.mark.django_db
def test_a_killed_one_is_tried_again_and_fails_in_the_end(film):
    read = captions.read("0:01 Ines, good closeout.")
    talk = transcripts.add_transcript(actor=film_coach(film), film=film, transcript=read)
    mine = TalkThrough.objects.filter(pk=talk.pk)
    mine.update(state="writing", lease_until=timezone.now() + transcripts.Lease.lasts, attempts=1)
    assert transcripts.understand_waiting() == 0
    assert transcripts.understand_waiting(now=timezone.now() + 2 * transcripts.Lease.lasts) == 0
    mine.update(lease_until=timezone.now() - transcripts.Lease.lasts, attempts=3)
    assert transcripts.understand_waiting() == 0
    assert mine.get().state == "failed"
    assert mine.get().problem


@pytest.mark.django_db
def test_one_whose_lease_was_taken_over_writes_nothing_more(film, monkeypatch):
    read = captions.read("0:01 Ines, good closeout.")
    talk = transcripts.add_transcript(actor=film_coach(film), film=film, transcript=read)
    mine = TalkThrough.objects.filter(pk=talk.pk)
    takers = [lambda: mine.update(lease_token=uuid4()), mine.delete]
    monkeypatch.setattr(transcripts, "suggest_safely", lambda *, talk: takers.pop(0)() and "")
    assert not transcripts.understand_now(talk_id=talk.pk)
    assert mine.get().state == "writing"
    mine.update(lease_until=timezone.now() - transcripts.Lease.lasts)
    assert not transcripts.understand_now(talk_id=talk.pk)
    assert not mine.exists()


def film_coach(film):
    return film.squad.memberships.get(role="coach").user


@pytest.mark.django_db
def test_the_list_of_a_films_talks(coach, film, cast):
    page = reverse("talkthrough:film", args=[film.pk])
    assert "Nothing said over this film yet" in coach.get(page).content.decode()
    read = captions.read("0:01 Ines, good closeout, short steps.\n0:20 Runa, lovely closeout.")
    talk = transcripts.add_transcript(
        actor=cast.coach, film=film, transcript=read, file_name="half.txt"
    )
    transcripts.begin(talk=talk)
    words = coach.get(page).content.decode()
    assert "half.txt" in words
    assert "2 to correct" in words
    assert "0 accepted" in words
    waiting = coach.get(reverse("home:waiting")).content.decode()
    assert "2 suggestions" in waiting
    film_page = coach.get(reverse("film:detail", args=[film.pk])).content.decode()
    assert page in film_page
    coach.post(reverse("talkthrough:delete", args=[talk.pk]))
    assert not TalkThrough.objects.exists()
