"""Films on their way: of several files, given up, found again after a kill."""

import json
import os
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from devplans.film.models import Film, FilmFile, Upload
from devplans.film.uploads import services, sweeping, views
from devplans.film.uploads.store import parts
from tests.film import test_tus
from tests.film.test_tus import FILM, TUS, Sender, kept

begun, coach = test_tus.begun, test_tus.coach
own_incoming, rung = test_tus.own_incoming, test_tus.rung


def test_several_files_make_one_film_in_their_order(cast, coach, rung):
    words = {"squad": cast.squad.pk, "title": "Game"}
    first = coach.begin(len(FILM), filename="1.mp4", files=3, **words)["Location"]
    film = Film.objects.get()
    others = [
        coach.begin(len(FILM), filename=f"{n}.mp4", film=film.pk, position=n - 1) for n in (2, 3)
    ]
    assert [one.status_code for one in others] == [201, 201]
    taken = coach.begin(len(FILM), filename="4.mp4", film=film.pk, position=2)
    assert list(taken.json()) == ["position"]
    for place in (others[1]["Location"], first):
        assert coach.send(place, 0, FILM).status_code == 204
        film.refresh_from_db()
        assert (film.state, film.original_keys(), rung) == ("uploading", [], [])
    coach.send(others[0]["Location"], 0, FILM)
    film.refresh_from_db()
    assert film.state == "waiting"
    assert [file.filename for file in film.files.all()] == ["1.mp4", "2.mp4", "3.mp4"]
    assert len(set(film.original_keys())) == 3
    assert all(default_storage.exists(key) for key in film.original_keys())
    assert film.size_bytes == 3 * len(FILM)
    assert rung == [str(film.pk)]


def test_a_film_goes_on_without_a_file_that_was_stopped(cast, coach, rung):
    words = {"squad": cast.squad.pk, "title": "Game"}
    first = coach.begin(len(FILM), filename="1.mp4", files=2, **words)["Location"]
    film = Film.objects.get()
    second = coach.begin(len(FILM), filename="2.mp4", film=film.pk, position=1)["Location"]
    coach.send(second, 0, FILM)
    coach.client.delete(first, headers=TUS)
    film.refresh_from_db()
    assert film.state == "waiting"
    assert [(file.filename, file.position) for file in film.files.all()] == [("2.mp4", 0)]


def test_a_whole_file_of_a_killed_portal_is_found_again(coach, begun, rung, settings):
    """Killed after the move and before the row was written."""
    coach.send(begun.place, 0, FILM[:-1])
    upload = Upload.objects.get()
    store = parts()
    with store.hold(upload.handle):
        store.append(upload.handle, [FILM[-1:]])
    store.finish(upload.handle, services._key_of(upload), upload.length)
    assert coach.offset(begun.place) == len(FILM)
    assert Film.objects.get().state == "waiting"
    assert len(rung) == 1


def test_what_nobody_goes_on_with_fails_and_says_why(coach, begun, settings):
    coach.send(begun.place, 0, FILM[:500])
    assert sweeping.sweep_uploads() == 0
    later = timezone.now() + timedelta(days=settings.UPLOAD_DAYS, minutes=1)
    assert sweeping.sweep_uploads(now=later) == 1
    film = Film.objects.get()
    assert film.state == "failed"
    assert "did not arrive whole within 7 days" in film.problem
    assert kept(settings) == []
    assert not FilmFile.objects.exists()


def test_files_without_rows_are_cleared_after_a_day(coach, begun, settings, monkeypatch):
    coach.send(begun.place, 0, FILM[:500])
    lost = default_storage.save(f"films/{uuid4()}/original", ContentFile(FILM))
    stray = parts().path(parts().create("stray", 5))
    assert sweeping.sweep_uploads() == 0
    day_ago = timezone.now().timestamp() - 25 * 3600
    for path in (
        stray,
        Path(default_storage.path(lost)),
        parts().path(Upload.objects.get().handle),
    ):
        os.utime(path, (day_ago, day_ago))
    assert sweeping.sweep_uploads() == 2
    assert not default_storage.exists(lost)
    assert coach.offset(begun.place) == 500


def test_when_many_films_arrive_the_rest_waits(coach, begun, monkeypatch):
    class Full:
        def acquire(self, blocking):
            return False

    monkeypatch.setattr(views, "at_once", Full())
    answer = coach.send(begun.place, 0, FILM)
    assert (answer.status_code, answer["Retry-After"]) == (503, "2")


def test_ones_own_uploads_are_listed(cast, coach, begun):
    coach.send(begun.place, 0, FILM[:300])
    (row,) = coach.client.get("/api/v1/uploads/").json()
    assert (row["id"], row["offset"], row["length"]) == (str(begun.film.pk), 300, len(FILM))
    assert (row["filename"], row["title"]) == ("game.mp4", "Game")
    assert Sender(cast.director).client.get("/api/v1/uploads/").json() == []


def test_a_method_may_be_named_in_a_header(coach, begun):
    headers = {**TUS, "Upload-Offset": "0", "X-HTTP-Method-Override": "PATCH"}
    kind = "application/offset+octet-stream"
    answer = coach.client.generic("POST", begun.place, FILM[:10], kind, headers=headers)
    assert (answer.status_code, answer["Upload-Offset"]) == (204, "10")


def test_the_page_of_a_film_on_its_way(cast, coach, begun):
    coach.send(begun.place, 0, FILM[: len(FILM) // 2])
    page = coach.client.get(f"/films/{begun.film.pk}/").content.decode()
    assert "49 % of this film has arrived" in page or "50 % of this film has arrived" in page
    assert "<local-film" in page
    assert "game.mp4" in page
    listed = coach.client.get("/films/upload/").content.decode()
    assert "On their way" in listed
    assert f"/films/{begun.film.pk}/" in listed


def test_a_page_that_plays_the_file_takes_the_copy_without_a_reload(cast, coach, begun):
    asked = {"headers": {"HX-Request": "true"}}
    url = f"/films/{begun.film.pk}/state/?here"
    answer = coach.client.get(url, **asked)
    assert b"hx-get" in answer.content
    assert "HX-Refresh" not in answer.headers
    Film.objects.update(state="ready", duration_ms=9000)
    answer = coach.client.get(url, **asked)
    assert "HX-Refresh" not in answer.headers
    told = json.loads(answer["HX-Trigger"])["film:ready"]
    assert told["durationMs"] == 9000
    assert told["src"] == f"/films/{begun.film.pk}/play/"
    assert b"hx-get" not in answer.content
