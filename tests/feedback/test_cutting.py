import io
from datetime import timedelta
from fractions import Fraction

import av
import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from devplans.feedback import cutting, services, tasks
from devplans.feedback.cutting import clip_span
from devplans.feedback.models import Clip, Delivery
from devplans.film.faults import CRASHED, MediaError
from devplans.people.models import Consent, Guardianship
from tests import factories as make
from tests.film import films


@pytest.mark.parametrize(
    ("start", "end", "span"),
    [
        (10_000, None, (7_000, 13_000)),
        (1_000, None, (0, 4_000)),
        (59_500, None, (56_500, 60_000)),
        (60_000, None, (57_000, 60_000)),
        (10_000, 16_000, (9_000, 17_000)),
        (500, 1_000, (0, 2_000)),
        (10_000, 50_000, (9_000, 39_000)),
        (55_000, 60_000, (54_000, 60_000)),
    ],
)
def test_what_a_clip_shows(start, end, span):
    assert clip_span(start, end, 60_000) == span


KIND = films.Kind("comments", films.steady(300), Fraction(1, 30), options={"g": "30"})


@pytest.fixture
def filmed(room, tmp_path):
    """A film with numbered frames, ten seconds long, in the storage."""
    path = films.write(tmp_path, KIND)
    with path.open("rb") as file:
        key = default_storage.save("films/numbered/original", file)
    room.film.original_key = room.film.playable_key = key
    room.film.duration_ms = 10_000
    room.film.save()
    return room


def sent(room, **fields):
    comment = make.make_comment(
        room.film, room.coach, [room.kid, room.mate], skill=room.skill, **fields
    )
    services.send_comments(actor=room.coach, comments=[comment])
    return Clip.objects.get(comment=comment)


def test_a_clip_is_cut_with_the_still_of_the_very_frame(filmed, client):
    clip = sent(filmed, start_ms=5_034, end_ms=6_000)
    assert cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    assert (clip.state, clip.lease_until, clip.attempts) == ("ready", None, 1)
    with default_storage.open(clip.video_key) as file, av.open(file) as video:
        assert video.streams.video[0].codec_context.name == "h264"
        assert 2.8 < float(video.duration / av.time_base) < 3.1
    delivery = Delivery.objects.get(player=filmed.kid)
    for who in (filmed.player, filmed.guardian, filmed.coach):
        client.force_login(who)
        answer = client.get(
            reverse("feedback:clip", args=[delivery.pk]), headers={"Range": "bytes=0-9"}
        )
        assert answer.status_code == 206
        assert answer["Content-Type"] == "video/mp4"
        still = client.get(reverse("feedback:delivery-still", args=[delivery.pk]))
        assert films.number_on(Image.open(io.BytesIO(still.content))) == KIND.on_screen(5_034)
    for who in (filmed.teammate, filmed.mate_guardian, filmed.ex_guardian, filmed.outsider):
        client.force_login(who)
        for route in ("feedback:clip", "feedback:delivery-still"):
            assert client.get(reverse(route, args=[delivery.pk])).status_code == 404
    assert not cutting.cut_clip(clip.pk)


def test_withdrawn_consent_and_an_ended_guardianship_close_the_clip(filmed, client):
    clip = sent(filmed)
    cutting.cut_clip(clip.pk)
    delivery = Delivery.objects.get(player=filmed.kid)
    addresses = [
        reverse(route, args=[delivery.pk]) for route in ("feedback:clip", "feedback:delivery-still")
    ]

    def answers(who):
        client.force_login(who)
        return {client.get(address).status_code for address in addresses}

    assert answers(filmed.guardian) == {200}
    Guardianship.objects.filter(user=filmed.guardian).update(
        until=timezone.now().date() - timedelta(days=1)
    )
    assert answers(filmed.guardian) == {404}
    assert answers(filmed.player) == {200}
    Consent.objects.filter(player=filmed.kid).update(withdrawn_at=timezone.now())
    assert answers(filmed.player) == {404}
    page = client.get(reverse("feedback:delivery", args=[delivery.pk])).text
    assert "there is no consent to film" in page
    assert addresses[0] not in page


def test_a_clip_that_somebody_is_cutting_is_left_alone_until_the_lease_ends(filmed):
    clip = sent(filmed)
    assert cutting.claim(clip.pk)
    assert cutting.claim(clip.pk) is None
    assert cutting.due_ids() == []
    Clip.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert cutting.due_ids() == [clip.pk]
    assert tasks.cut_waiting() == 1
    clip.refresh_from_db()
    assert clip.state == "ready"


def test_a_worker_that_lost_its_lease_writes_nothing(filmed, monkeypatch):
    clip = sent(filmed)
    real = cutting.sandbox.cut_clip

    def slow(*arguments, **options):
        Clip.objects.update(lease_token=None, lease_until=None)
        return real(*arguments, **options)

    monkeypatch.setattr(cutting.sandbox, "cut_clip", slow)
    assert not cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    assert (clip.state, clip.video_key) == ("waiting", "")
    assert list(kept_files()) == []


def kept_files():
    folders, files = default_storage.listdir("clips")
    yield from files
    for folder in folders:
        yield from default_storage.listdir(f"clips/{folder}")[1]


def test_a_passing_fault_is_tried_again_and_the_still_is_kept_at_last(filmed, monkeypatch, client):
    clip = sent(filmed)

    def broken(*arguments, **options):
        raise MediaError(CRASHED)

    monkeypatch.setattr(cutting.sandbox, "cut_clip", broken)
    for attempt in range(1, cutting.MAX_ATTEMPTS + 1):
        assert Clip.objects.get().state == "waiting", attempt
        cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    assert clip.state == "failed"
    assert clip.problem
    assert clip.still_key
    assert len(list(kept_files())) == 1
    delivery = Delivery.objects.get(player=filmed.kid)
    client.force_login(filmed.player)
    page = client.get(reverse("home:today")).text
    assert "The clip could not be cut" in page
    assert reverse("feedback:delivery-still", args=[delivery.pk]) in page
    assert client.get(reverse("feedback:clip", args=[delivery.pk])).status_code == 404


def test_a_film_that_cannot_be_read_fails_at_once(filmed):
    clip = sent(filmed)
    key = default_storage.save("films/broken", io.BytesIO(b"no film at all" * 100))
    filmed.film.original_key = filmed.film.playable_key = key
    filmed.film.save()
    assert not cutting.cut_clip(clip.pk)
    clip.refresh_from_db()
    assert (clip.state, clip.attempts) == ("failed", 1)


def test_the_clip_is_queued_when_the_sending_is_committed(
    filmed, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        clip = sent(filmed)
    clip.refresh_from_db()
    assert clip.state == "ready"
