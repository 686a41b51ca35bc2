"""The server of resumable uploads, through its addresses."""

import base64
import hashlib
from io import BytesIO
from pathlib import Path
from types import SimpleNamespace
from uuid import UUID, uuid4

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.film.models import Film, Upload
from devplans.film.uploads.parts import IDLE_S, LocalParts
from devplans.film.uploads.store import parts

FILM = b"\0\0\0\x18ftypisom" + bytes(range(256)) * 20
TUS = {"Tus-Resumable": "1.0.0"}


@pytest.fixture(autouse=True)
def own_incoming(settings, tmp_path):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")


@pytest.fixture
def rung(monkeypatch):
    films = []
    monkeypatch.setattr("devplans.film.tasks.prepare.delay_on_commit", films.append)
    return films


def said(**words) -> str:
    return ",".join(f"{k} {base64.b64encode(str(v).encode()).decode()}" for k, v in words.items())


class Sender:
    """A client of the protocol, one request at a time."""

    def __init__(self, user, *, csrf=False):
        self.client = Client(enforce_csrf_checks=csrf)
        self.client.force_login(user)

    def begin(self, length, **words):
        headers = {**TUS, "Upload-Length": str(length), "Upload-Metadata": said(**words)}
        return self.client.post("/api/v1/uploads/", headers=headers)

    def send(self, place, offset, body, **headers):
        headers = {**TUS, "Upload-Offset": str(offset), **headers}
        return self.client.generic(
            "PATCH", place, body, "application/offset+octet-stream", headers=headers
        )

    def offset(self, place):
        answer = self.client.head(place, headers=TUS)
        assert answer.status_code == 200, answer.content
        return int(answer["Upload-Offset"])


@pytest.fixture
def coach(cast):
    return Sender(cast.coach)


@pytest.fixture
def begun(cast, coach, rung):
    """A film of len(FILM) bytes that is on its way."""
    answer = coach.begin(len(FILM), filename="game.mp4", title="Game", squad=cast.squad.pk)
    assert answer.status_code == 201, answer.content
    return SimpleNamespace(place=answer["Location"], film=Film.objects.get())


def kept(settings) -> list[str]:
    folders = [Path(settings.MEDIA_ROOT), Path(settings.FILE_UPLOAD_TEMP_DIR)]
    return sorted(p.name for f in folders for p in f.rglob("*") if p.is_file())


def test_a_film_arrives_in_pieces(cast, coach, begun, rung, settings):
    upload_id = UUID(begun.place.rsplit("/", 1)[1])
    assert begun.place == f"/api/v1/uploads/{upload_id}"
    assert (begun.film.pk, begun.film.state) == (upload_id, "uploading")
    assert coach.client.get(f"/api/v1/films/{upload_id}/").status_code == 404
    assert coach.client.get("/api/v1/films/").json()["results"] == []
    first = coach.send(begun.place, 0, FILM[:2000])
    assert (first.status_code, first["Upload-Offset"]) == (204, "2000")
    assert coach.offset(f"{begun.place}/") == 2000
    assert rung == []
    last = coach.send(begun.place, 2000, FILM[2000:])
    assert (last.status_code, last["Upload-Offset"]) == (204, str(len(FILM)))
    answer = coach.client.get(f"/api/v1/films/{upload_id}/").json()
    assert (answer["state"], answer["title"], answer["squad"]) == (
        "waiting", "Game", str(cast.squad.pk),
    )  # fmt: skip
    film = Film.objects.get()
    assert rung == [str(upload_id)]
    assert film.original_keys() == [film.original_key] == [f"films/{upload_id}/original"]
    assert default_storage.open(film.original_key).read() == FILM
    assert (film.size_bytes, film.uploaded_by) == (len(FILM), cast.coach)
    assert coach.offset(begun.place) == len(FILM)
    assert kept(settings) == ["original"]
    assert AuditEntry.objects.filter(verb="film.added", row_id=film.pk, actor=cast.coach).exists()


def test_only_coaches_of_the_squad_see_a_film_on_its_way(cast, begun):
    seen = {
        name: Film.objects.visible_to(getattr(cast, name)).exists()
        for name in ("coach", "director", "player", "guardian", "other_coach", "outsider")
    }
    assert seen == {**dict.fromkeys(seen, False), "coach": True}


def test_only_the_sender_goes_on(cast, begun):
    from tests import factories as make

    second = make.make_user("Second")
    make.make_member(second, "coach", club=cast.club, squad=cast.squad)
    for user in (second, cast.director, cast.outsider):
        other = Sender(user)
        assert other.client.head(begun.place, headers=TUS).status_code == 404
        assert other.send(begun.place, 0, FILM).status_code == 404
        assert other.client.delete(begun.place, headers=TUS).status_code == 404


def test_what_is_offered(coach):
    answer = coach.client.options("/api/v1/uploads/")
    assert answer.status_code == 204
    assert answer["Tus-Version"] == "1.0.0"
    assert set(answer["Tus-Extension"].split(",")) >= {
        "creation", "checksum", "termination", "expiration",
    }  # fmt: skip
    assert answer["Tus-Checksum-Algorithm"] == "sha1,sha256"
    assert int(answer["Tus-Max-Size"]) > 0


def test_creation_may_carry_the_first_bytes(cast, coach, rung):
    headers = {
        **TUS, "Upload-Length": str(len(FILM)),
        "Upload-Metadata": said(filename="a.mp4", squad=cast.squad.pk),
    }  # fmt: skip
    kind = "application/offset+octet-stream"
    url = "/api/v1/uploads/"
    answer = coach.client.generic("POST", url, FILM[:100], kind, headers=headers)
    assert (answer.status_code, answer["Upload-Offset"]) == (201, "100")
    assert Film.objects.get().title == "a"
    whole = coach.client.generic("POST", url, FILM, kind, headers=headers)
    assert (whole.status_code, whole["Upload-Offset"]) == (201, str(len(FILM)))
    assert len(rung) == 1


WRONG = {
    "no version": ({"Tus-Resumable": "0.2.2"}, {}, 412),
    "no offset": ({"Upload-Offset": "soon"}, {}, 400),
    "elsewhere": ({"Upload-Offset": "7"}, {}, 409),
    "other kind": ({}, {"content_type": "text/plain"}, 415),
    "other sum": ({"Upload-Checksum": "md5 AAAA"}, {}, 400),
    "no sum": ({"Upload-Checksum": "sha1 !"}, {}, 400),
}


@pytest.mark.parametrize("why", WRONG)
def test_a_part_that_cannot_be_taken_changes_nothing(coach, begun, why):
    headers, more, status = WRONG[why]
    headers = {**TUS, "Upload-Offset": "0", **headers}
    words = {"content_type": "application/offset+octet-stream", **more}
    answer = coach.client.generic("PATCH", begun.place, FILM, headers=headers, **words)
    assert answer.status_code == status
    assert "detail" in answer.json()
    assert answer["Tus-Resumable"] == "1.0.0"
    assert coach.offset(begun.place) == 0


def test_more_than_announced_is_refused(coach, begun):
    assert coach.send(begun.place, 0, FILM + b"more").status_code == 413
    assert coach.offset(begun.place) == 0


@pytest.mark.parametrize("algorithm", ["sha1", "sha256"])
def test_a_damaged_part_is_taken_back(coach, begun, algorithm):
    def sum_of(body):
        return f"{algorithm} {base64.b64encode(hashlib.new(algorithm, body).digest()).decode()}"

    good = {"Upload-Checksum": sum_of(FILM[:500])}
    assert coach.send(begun.place, 0, FILM[:500], **good).status_code == 204
    answer = coach.send(begun.place, 500, FILM[500:900], **good)
    assert answer.status_code == 460
    assert coach.offset(begun.place) == 500


def test_an_early_end_is_kept_and_completes_nothing(coach, begun, rung):
    answer = coach.client.generic(
        "PATCH", begun.place, FILM[:900], "application/offset+octet-stream",
        headers={**TUS, "Upload-Offset": "0"}, CONTENT_LENGTH=str(len(FILM)),
        **{"wsgi.input": BytesIO(FILM[:900])},
    )  # fmt: skip
    assert answer.status_code == 400
    assert coach.offset(begun.place) == 900
    assert rung == []


def test_two_parts_at_once_are_refused(coach, begun, monkeypatch):
    with parts().hold(Upload.objects.get().handle):
        assert coach.send(begun.place, 0, FILM).status_code == 423
        # A sender whose line went dead does not block the next one for ever.
        monkeypatch.setattr("time.time", lambda: timezone.now().timestamp() + IDLE_S + 1)
        assert coach.send(begun.place, 0, FILM[:100]).status_code == 204


def test_a_sender_that_wakes_up_too_late_writes_nothing(tmp_path, monkeypatch):
    from devplans.film.uploads.parts import Held

    store = LocalParts(tmp_path / "parts", tmp_path / "media")
    handle = store.create("a", 100)

    def late():
        yield b"first"
        monkeypatch.setattr("devplans.film.uploads.parts.IDLE_S", -1.0)
        with store.hold(handle):
            store.append(handle, [b"SECOND"])
        yield b"third"

    with pytest.raises(Held), store.hold(handle):
        store.append(handle, late(), intact=lambda: False)
    assert store.head(handle, 100) == b"firstSECOND"


def test_what_is_no_film_is_refused_at_once(cast, coach, begun, settings):
    answer = coach.send(begun.place, 0, b"<!doctype html>" * 10)
    assert answer.status_code == 400
    assert "not a film we can read" in answer.json()["file"][0]
    assert not Film.objects.exists()
    assert kept(settings) == []
    assert coach.client.head(begun.place, headers=TUS).status_code == 404


def test_a_very_short_file_is_looked_at_too(cast, coach, rung, settings):
    answer = coach.begin(5, filename="a.mp4", squad=cast.squad.pk)
    assert coach.send(answer["Location"], 0, b"hello").status_code == 400
    assert kept(settings) == []


REFUSED = {
    "empty": ({"length": 0}, {}, 400),
    "too long": ({}, {"FILM_MAX_BYTES": 1000}, 413),
    "no quota": ({}, {"FILM_QUOTA_BYTES": 2000}, 413),
    "too many": ({}, {"UPLOADS_OPEN_MOST": 0}, 413),
    "too many files": ({"files": 500}, {}, 400),
}


@pytest.mark.parametrize("why", REFUSED)
def test_what_cannot_be_kept_is_refused_before_a_byte(cast, coach, settings, why):
    words, more, status = REFUSED[why]
    for name, value in more.items():
        setattr(settings, name, value)
    words = {"length": len(FILM), "filename": "a.mp4", "squad": cast.squad.pk, **words}
    answer = coach.begin(**words)
    assert answer.status_code == status, answer.content
    assert len(str(next(iter(answer.json().values())))) > 20
    assert not Film.objects.exists()
    assert kept(settings) == []


def test_a_full_disk_is_said_before_a_byte(cast, coach, settings, monkeypatch):
    monkeypatch.setattr(LocalParts, "has_room", lambda *_: False)
    answer = coach.begin(len(FILM), filename="a.mp4", squad=cast.squad.pk)
    assert answer.status_code == 507
    assert kept(settings) == []


def test_room_promised_to_others_is_not_given_twice(cast, coach, begun, monkeypatch):
    asked = []
    monkeypatch.setattr(LocalParts, "has_room", lambda _self, size, _kept: asked.append(size))
    coach.send(begun.place, 0, FILM[:1000])
    coach.begin(500, filename="a.mp4", squad=cast.squad.pk)
    assert asked == [500 + len(FILM) - 1000]


def test_a_disk_that_fills_up_keeps_what_fits(coach, begun, monkeypatch):
    import errno
    import os

    real = os.pwrite

    def nearly_full(file, body, at):
        if at >= 700:
            raise OSError(errno.ENOSPC, "full")
        return real(file, body[: 700 - at], at)

    monkeypatch.setattr("devplans.film.uploads.parts.os.pwrite", nearly_full)
    answer = coach.send(begun.place, 0, FILM)
    assert answer.status_code == 507
    assert "no room" in answer.json()["file"][0]
    assert coach.offset(begun.place) == 700
    monkeypatch.undo()
    assert coach.send(begun.place, 700, FILM[700:]).status_code == 204


@pytest.mark.parametrize(("who", "status"), [("player", 403), ("director", 403), ("outsider", 400)])
def test_nobody_else_begins_one(cast, who, status):
    sender = Sender(getattr(cast, who))
    answer = sender.begin(len(FILM), filename="a.mp4", squad=cast.squad.pk)
    assert answer.status_code == status
    assert not Film.objects.exists()


def test_a_right_that_ended_meanwhile_ends_the_upload(cast, coach, begun, rung):
    coach.send(begun.place, 0, FILM[:500])
    cast.coach.memberships.all().delete()
    assert coach.send(begun.place, 500, FILM[500:]).status_code == 403
    assert Film.objects.get().state == "uploading"
    assert rung == []


def test_the_right_is_asked_for_again_at_the_last_byte(cast, coach, begun, rung, monkeypatch):
    real = LocalParts.append

    def leaves(self, *args, **more):
        size = real(self, *args, **more)
        cast.coach.memberships.all().delete()
        return size

    monkeypatch.setattr(LocalParts, "append", leaves)
    assert coach.send(begun.place, 0, FILM).status_code == 403
    assert (Film.objects.get().state, rung) == ("uploading", [])


def test_the_csrf_token_is_needed(cast):
    sender = Sender(cast.coach, csrf=True)
    answer = sender.begin(len(FILM), filename="a.mp4", squad=cast.squad.pk)
    assert answer.status_code == 403
    assert not Film.objects.exists()


def test_with_the_csrf_token_in_its_header_it_is_taken(cast, rung):
    sender = Sender(cast.coach, csrf=True)
    sender.client.get("/films/upload/")
    told = said(filename="a.mp4", squad=cast.squad.pk)
    headers = {"X-CSRFToken": sender.client.cookies["csrftoken"].value}
    headers |= {**TUS, "Upload-Length": str(len(FILM)), "Upload-Metadata": told}
    kind = "application/offset+octet-stream"
    answer = sender.client.generic("POST", "/api/v1/uploads/", FILM[:90], kind, headers=headers)
    assert (answer.status_code, answer["Upload-Offset"]) == (201, "90"), answer.content
    rest = sender.send(answer["Location"], 90, FILM[90:], **headers)
    assert rest.status_code == 204
    assert len(rung) == 1


def test_signed_out_is_403():
    assert Client().post("/api/v1/uploads/", headers=TUS).status_code == 403
    assert Client().head(f"/api/v1/uploads/{uuid4()}", headers=TUS).status_code == 403


def test_a_stopped_upload_is_gone(coach, begun, settings):
    coach.send(begun.place, 0, FILM[:500])
    assert coach.client.delete(begun.place, headers=TUS).status_code == 204
    assert not Film.objects.exists()
    assert kept(settings) == []
    assert coach.send(begun.place, 500, FILM[500:]).status_code == 404


def test_a_film_that_arrived_is_not_stopped(coach, begun, settings):
    coach.send(begun.place, 0, FILM)
    assert coach.client.delete(begun.place, headers=TUS).status_code == 409
    assert kept(settings) == ["original"]
