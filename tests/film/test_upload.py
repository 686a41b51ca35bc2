"""Adding a film: through the service, the page and the API."""

import shutil
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.film import intake, services
from devplans.film.models import Film
from devplans.schedule.models import Event
from tests.film.films import shared_film

FTYP = b"\0\0\0\x18ftypisom" + bytes(2000)


def kept(settings) -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def spooled(settings) -> list[Path]:
    return [path for path in Path(settings.FILE_UPLOAD_TEMP_DIR).rglob("*") if path.is_file()]


@pytest.fixture(autouse=True)
def own_incoming(settings, tmp_path):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")
    Path(settings.FILE_UPLOAD_TEMP_DIR).mkdir()


@pytest.fixture
def event(cast):
    now = timezone.now()
    return Event.objects.create(
        squad=cast.squad,
        kind="game",
        opponent="Ashdown",
        starts_at=now - timedelta(hours=3),
        ends_at=now,
    )


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def film_file(content: bytes = FTYP, name: str = "game.mp4") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type="video/mp4")


def test_a_coach_adds_a_film_of_his_squad(cast, event, settings, monkeypatch):
    rung = []
    monkeypatch.setattr("devplans.film.tasks.prepare.delay_on_commit", rung.append)
    film = services.add_film(
        actor=cast.coach,
        squad=cast.squad,
        title="  First   half ",
        file=ContentFile(FTYP),
        event=event,
    )
    film.refresh_from_db()
    assert (film.title, film.state, film.progress) == ("First half", "waiting", 0)
    assert (film.event, film.recorded_at, film.uploaded_by) == (event, event.starts_at, cast.coach)
    assert film.original_key == f"films/{film.pk}/original"
    assert default_storage.open(film.original_key).read() == FTYP
    assert film.size_bytes == len(FTYP)
    assert rung == [str(film.pk)]
    assert AuditEntry.objects.filter(verb="film.added", row_id=film.pk, actor=cast.coach).exists()


@pytest.mark.parametrize(
    "who", ["player", "guardian", "director", "other_coach", "outsider", "stranger"]
)
def test_nobody_else_adds_one(cast, settings, who):
    with pytest.raises(PermissionDenied):
        services.add_film(
            actor=getattr(cast, who), squad=cast.squad, title="Game", file=ContentFile(FTYP)
        )
    assert kept(settings) == []
    assert not Film.objects.exists()


REFUSED = {
    "empty": (b"", "file.empty"),
    "page": (b"<!doctype html><script>alert(1)</script>" * 50, "file.type"),
    "drawing": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "file.type"),
    "list of files": (b"ffconcat version 1.0\nfile 'other.mp4'\n", "file.type"),
    "play list": (b"#EXTM3U\n#EXTINF:5,\nother.mp4\n", "file.type"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(100), "file.type"),
    "other matroska": (b"\x1a\x45\xdf\xa3" + b"matroska" + bytes(100), "file.type"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_is_no_film_leaves_nothing(cast, settings, kind):
    content, code = REFUSED[kind]
    with pytest.raises(DomainError) as caught:
        services.add_film(
            actor=cast.coach, squad=cast.squad, title="Game", file=ContentFile(content)
        )
    assert (caught.value.code, caught.value.field) == (code, "file")
    assert kept(settings) == []
    assert not Film.objects.exists()


def test_a_film_over_the_limit_leaves_nothing(cast, settings):
    settings.FILM_MAX_BYTES = 1000
    with pytest.raises(DomainError, match="too big") as caught:
        services.add_film(actor=cast.coach, squad=cast.squad, title="Game", file=ContentFile(FTYP))
    assert caught.value.code == "file.size"
    assert kept(settings) == []


def full_disk(monkeypatch):
    usage = SimpleNamespace(free=intake.RESERVE_BYTES + 100)
    monkeypatch.setattr(intake, "shutil", SimpleNamespace(disk_usage=lambda _folder: usage))


def test_a_full_disk_is_said_before_anything_is_kept(cast, settings, monkeypatch):
    full_disk(monkeypatch)
    with pytest.raises(DomainError) as caught:
        services.add_film(actor=cast.coach, squad=cast.squad, title="Game", file=ContentFile(FTYP))
    assert caught.value.code == "file.room"
    assert kept(settings) == []


def test_a_date_of_another_squad_is_refused(cast, event, settings):
    event.squad = cast.other_squad
    event.save(update_fields=["squad"])
    with pytest.raises(DomainError) as caught:
        services.add_film(
            actor=cast.coach, squad=cast.squad, title="Game", file=ContentFile(FTYP), event=event
        )
    assert caught.value.field == "event"
    assert kept(settings) == []


def test_a_database_that_fails_leaves_no_file(cast, settings, monkeypatch):
    def fail(*_args, **_fields):
        raise RuntimeError("no database")

    monkeypatch.setattr("devplans.core.audit.record", fail)
    with pytest.raises(RuntimeError):
        services.add_film(actor=cast.coach, squad=cast.squad, title="Game", file=ContentFile(FTYP))
    assert kept(settings) == []
    assert not Film.objects.exists()


def test_the_page_takes_a_film_without_scripts(cast, event, settings):
    client = signed_in(cast.coach)
    page = client.get(reverse("film:upload"))
    assert page.status_code == 200
    assert b'enctype="multipart/form-data"' in page.content
    assert b"8 GB" in page.content
    answer = client.post(
        reverse("film:upload"),
        {"title": "Game", "squad": cast.squad.pk, "event": event.pk, "file": film_file()},
    )
    film = Film.objects.get()
    assert answer.status_code == 302
    assert answer.url == reverse("film:detail", args=[film.pk])
    assert [path.name for path in kept(settings)] == ["original"]
    assert spooled(settings) == []


@pytest.mark.parametrize("kind", REFUSED)
def test_the_page_says_what_is_wrong_beside_the_file(cast, settings, kind):
    content, _code = REFUSED[kind]
    answer = signed_in(cast.coach).post(
        reverse("film:upload"),
        {"title": "Game", "squad": cast.squad.pk, "file": film_file(content)},
    )
    assert answer.status_code == 422
    assert len(answer.context["form"].errors["file"]) == 1
    assert b'id="id_file_errors"' in answer.content
    assert kept(settings) == spooled(settings) == []
    assert not Film.objects.exists()


def test_the_page_asks_for_a_file_and_a_title(cast):
    answer = signed_in(cast.coach).post(reverse("film:upload"), {"squad": cast.squad.pk})
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"file", "title"}


def test_an_upload_over_the_limit_is_not_written_to_the_end(cast, settings, monkeypatch):
    settings.FILM_MAX_BYTES = 100_000
    written = []
    monkeypatch.setattr(
        "django.core.files.uploadhandler.TemporaryFileUploadHandler.receive_data_chunk",
        lambda _handler, raw, _start: written.append(len(raw)),
    )
    answer = signed_in(cast.coach).post(
        reverse("film:upload"),
        {"file": film_file(FTYP + bytes(3_000_000)), "title": "Game", "squad": cast.squad.pk},
    )
    assert answer.status_code == 422
    assert "too big" in answer.context["form"].errors["file"][0]
    assert sum(written) <= 100_000
    assert spooled(settings) == []


def test_only_the_film_pages_take_big_files(cast, settings, monkeypatch):
    monkeypatch.setattr(intake, "OTHER_MAX_BYTES", 10_000)
    answer = Client().post(reverse("film:upload"), {"file": film_file(FTYP + bytes(100_000))})
    assert answer.status_code == 302
    assert answer.wsgi_request.FILES == {}
    assert answer.wsgi_request.upload_refused.code == "file.size"
    assert spooled(settings) == []


def test_an_upload_that_breaks_off_is_not_taken_for_a_film(cast, settings):
    client = signed_in(cast.coach)
    body = (
        b'--cut\r\nContent-Disposition: form-data; name="title"\r\n\r\nGame\r\n'
        b'--cut\r\nContent-Disposition: form-data; name="squad"\r\n\r\n'
        + str(cast.squad.pk).encode()
        + b'\r\n--cut\r\nContent-Disposition: form-data; name="file"; filename="game.mp4"\r\n\r\n'
        + FTYP
    )
    for route in ("film:upload", "film-list"):
        answer = client.generic(
            "POST", reverse(route), body, content_type="multipart/form-data; boundary=cut"
        )
        assert answer.status_code in {400, 422}
        assert b"did not arrive whole" in answer.content
    assert kept(settings) == spooled(settings) == []


def test_the_api_takes_a_film(cast, event, settings):
    client = signed_in(cast.coach)
    body = {
        "file": film_file(),
        "title": "Game",
        "squad": str(cast.squad.pk),
        "event": str(event.pk),
    }
    answer = client.post("/api/v1/films/", body)
    assert answer.status_code == 201, answer.content
    film = Film.objects.get()
    assert film.event == event
    assert answer.json() == {
        "id": str(film.pk), "title": "Game", "squad": str(cast.squad.pk), "state": "waiting",
        "progress": 0.0, "problem": "", "duration_ms": None, "width": None, "height": None,
    }  # fmt: skip
    assert client.get(f"/api/v1/films/{film.pk}/").json() == answer.json()
    assert client.get("/api/v1/films/").json()["results"] == [answer.json()]


@pytest.mark.parametrize("kind", REFUSED)
def test_the_api_says_400_and_keeps_nothing(cast, settings, kind):
    content, _code = REFUSED[kind]
    body = {"file": film_file(content), "title": "Game", "squad": str(cast.squad.pk)}
    answer = signed_in(cast.coach).post("/api/v1/films/", body)
    assert answer.status_code == 400
    assert list(answer.json()) == ["file"]
    assert kept(settings) == spooled(settings) == []
    assert not Film.objects.exists()


def test_the_api_names_the_fields_that_are_missing(cast):
    answer = signed_in(cast.coach).post("/api/v1/films/", {"title": ""})
    assert answer.status_code == 400
    assert set(answer.json()) == {"file", "title", "squad"}


def test_the_api_needs_the_csrf_token_also_with_a_film(cast, settings):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.coach)
    body = {"file": film_file(), "title": "Game", "squad": str(cast.squad.pk)}
    answer = client.post("/api/v1/films/", body)
    assert answer.status_code == 403
    assert kept(settings) == spooled(settings) == []


@pytest.mark.parametrize(
    ("who", "expected"), [("outsider", 400), ("player", 403), ("director", 403)]
)
def test_the_api_refuses_a_film_for_a_squad_one_does_not_coach(cast, settings, who, expected):
    body = {"file": film_file(), "title": "Game", "squad": str(cast.squad.pk)}
    answer = signed_in(getattr(cast, who)).post("/api/v1/films/", body)
    assert answer.status_code == expected
    assert kept(settings) == []


def test_a_real_film_goes_from_upload_to_ready(cast, settings, django_capture_on_commit_callbacks):
    path = shutil.copy(shared_film("bikes"), settings.FILE_UPLOAD_TEMP_DIR)
    with Path(path).open("rb") as file, django_capture_on_commit_callbacks(execute=True):
        body = {"file": file, "title": "Bikes", "squad": str(cast.squad.pk)}
        answer = signed_in(cast.coach).post("/api/v1/films/", body)
    film = signed_in(cast.coach).get(f"/api/v1/films/{answer.json()['id']}/").json()
    assert (film["state"], film["progress"], film["problem"]) == ("ready", 1.0, "")
    assert film["duration_ms"] == 10_000
    assert (film["width"], film["height"]) == (640, 272)
