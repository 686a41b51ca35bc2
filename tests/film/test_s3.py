"""A portal that keeps its films in a bucket: sent, fetched, prepared, shown."""

import gzip
import hashlib
import json
import random
import subprocess
import sys
import urllib.error
import urllib.request
from datetime import timedelta
from pathlib import Path

import pytest
import urllib3
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from devplans.film import services, storing
from devplans.film.fetching import job, lines
from devplans.film.models import Film, Upload
from devplans.film.uploads.s3_parts import S3Parts
from devplans.film.uploads.store import parts
from devplans.film.uploads.sweeping import sweep_uploads
from tests import factories as make
from tests.film.bucket import KEYS, NAME, body, keys, storages
from tests.film.film_server import FilmServer, Internet, certificate, film, new_authority
from tests.film.films import shared_film
from tests.film.test_tus import Sender

MIB = 1024 * 1024
pytestmark = [pytest.mark.once, pytest.mark.long]
ROOT = Path(__file__).resolve().parents[2]
FILM = b"\0\0\0\x18ftypisom" + random.Random(7).randbytes(10 * MIB)


@pytest.fixture(autouse=True)
def own_incoming(films_in_bucket, settings, tmp_path):
    settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path / "incoming")


@pytest.fixture(autouse=True)
def rung(monkeypatch):
    films = []
    monkeypatch.setattr("devplans.film.tasks.prepare.delay_on_commit", films.append)
    monkeypatch.setattr("devplans.film.tasks.prepare.delay", films.append)
    return films


def begun(cast):
    coach = Sender(cast.coach)
    answer = coach.begin(len(FILM), filename="game.mp4", title="Game", squad=cast.squad.pk)
    assert answer.status_code == 201, answer.content
    return coach, answer["Location"]


def test_a_film_sent_in_pieces_lies_in_the_bucket(cast, bucket, rung):
    assert isinstance(parts(), S3Parts)
    coach, place = begun(cast)
    for begin in range(0, len(FILM), 5 * MIB):
        assert coach.offset(place) == begin
        answer = coach.send(place, begin, FILM[begin : begin + 5 * MIB])
        assert answer.status_code == 204, answer.content
    added = Film.objects.get()
    assert (added.state, rung) == ("waiting", [str(added.pk)])
    assert keys(bucket) == [f"films/{added.pk}/original"]
    assert hashlib.sha256(body(bucket, added.original_key)).digest() == (
        hashlib.sha256(FILM).digest()
    )


def test_a_damaged_piece_and_a_wrong_place_change_nothing(cast, bucket):
    coach, place = begun(cast)
    wrong = {"Upload-Checksum": "sha256 " + "A" * 43 + "="}
    assert coach.send(place, 0, FILM[:1000], **wrong).status_code == 460
    assert coach.send(place, 7, FILM[:1000]).status_code == 409
    assert coach.offset(place) == 0
    assert coach.send(place, 0, FILM[:1000]).status_code == 204
    assert coach.offset(place) == 1000


def test_what_is_no_film_or_is_stopped_leaves_nothing(cast, bucket):
    coach, place = begun(cast)
    assert coach.send(place, 0, b"<!doctype html>" * 100).status_code in {400, 415}
    coach, place = begun(cast)
    coach.send(place, 0, FILM[:1000])
    headers = {"Tus-Resumable": "1.0.0"}
    assert coach.client.delete(place, headers=headers).status_code == 204
    assert keys(bucket) == []
    assert "Uploads" not in bucket.list_multipart_uploads(Bucket=NAME)


def test_what_is_not_gone_on_with_is_cleared(cast, bucket):
    coach, place = begun(cast)
    coach.send(place, 0, FILM[:1000])
    Upload.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert sweep_uploads() == 1
    assert keys(bucket) == []
    assert "Uploads" not in bucket.list_multipart_uploads(Bucket=NAME)


@pytest.fixture
def film_server(tmp_path, settings, monkeypatch):
    authority, path = new_authority(tmp_path)
    server = FilmServer(certificate(authority, "films.example"))
    internet = Internet(server)
    look_up = lines.socket.getaddrinfo

    def some(host, *args, **kwargs):
        known = host in internet.names
        return (internet.getaddrinfo if known else look_up)(host, *args, **kwargs)

    connect = urllib3.util.connection.create_connection

    def lead(address, *args, **kwargs):
        inside = address[0] == "127.0.0.1"
        return (connect if inside else internet.create_connection)(address, *args, **kwargs)

    monkeypatch.setattr(lines.socket, "getaddrinfo", some)
    monkeypatch.setattr(urllib3.util.connection, "create_connection", lead)
    monkeypatch.setattr(job, "RECONNECT_AFTER_S", 0)
    settings.FILM_ADDRESS_CA = str(path)
    yield server
    server.shutdown()
    server.server_close()


def test_a_fetched_film_is_gone_on_with_from_the_bucket(cast, bucket, film_server):
    film_server.paths["/game.mp4"] = film(FILM, cut_after=9 * MIB)
    more = {"title": "Game", "address": "https://films.example/game.mp4"}
    added = services.fetch_film(actor=cast.coach, squad=cast.squad, **more)
    services.run_fetch(fetch_id=added.fetch.pk)
    added.refresh_from_db()
    assert film_server.asked[1][1]["Range"] == f"bytes={9 * MIB}-"
    assert keys(bucket) == [added.original_key]
    assert body(bucket, added.original_key) == FILM


def prepared(cast):
    content = shared_film("bikes").read_bytes()
    added = make.make_film(cast.squad, state="waiting", size_bytes=len(content))
    added.original_key = default_storage.save(f"films/{added.pk}/original", ContentFile(content))
    added.save()
    services.prepare_film(film_id=added.pk)
    added.refresh_from_db()
    return added


def signed_in(user):
    client = Client()
    client.force_login(user)
    return client


def test_a_film_is_prepared_and_shown_from_the_bucket(cast, bucket, settings, s3):
    added = prepared(cast)
    assert (added.state, added.problem) == ("ready", "")
    kept = {added.original_key, added.playable_key, added.poster_key, added.frames_key}
    assert kept <= set(keys(bucket))
    assert not [key for key in keys(bucket) if "pieces" in key]
    assert not list(Path(settings.FILE_UPLOAD_TEMP_DIR).rglob("*.mp4"))

    coach = signed_in(cast.coach)
    answer = coach.get(reverse("film:play", args=[added.pk]))
    assert (answer.status_code, answer["Cache-Control"]) == (302, "private, no-store")
    link = answer["Location"]
    assert link.startswith(f"{s3}/{NAME}/{added.playable_key}?")
    assert "X-Amz-Expires=600" in link
    asked = urllib.request.Request(link, headers={"Range": "bytes=0-99"})
    with urllib.request.urlopen(asked) as part:
        assert (part.status, part.headers["Content-Type"]) == (206, "video/mp4")
        assert part.headers["Content-Disposition"].startswith("inline")
        assert part.read()[4:8] == b"ftyp"
    assert signed_in(cast.outsider).get(reverse("film:play", args=[added.pk])).status_code == 404

    frames = coach.get(reverse("film:frames", args=[added.pk]))
    assert (frames.status_code, frames["Content-Encoding"]) == (200, "gzip")
    assert json.loads(gzip.decompress(frames.content))
    still = coach.get(reverse("film:still", args=[added.pk]) + "?ms=500")
    assert still.content[:2] == b"\xff\xd8"

    film_id = added.pk
    services.delete_film(actor=cast.coach, film=added)
    storing.remove_files(film_id)
    assert keys(bucket) == []


def test_links_are_for_the_address_that_browsers_use(settings, s3):
    settings.STORAGES = storages(s3, "https://films.club.example")
    link = default_storage.url(
        "films/a b/play.mp4", parameters={"ResponseContentType": "video/mp4"}
    )
    assert link.startswith(f"https://films.club.example/{NAME}/films/a%20b/play.mp4?")
    assert "X-Amz-Signature=" in link
    assert "response-content-type=video%2Fmp4" in link


ASK = """
import json
from django.conf import settings as s
rules = s.CONTENT_SECURITY_POLICY["DIRECTIVES"]
print(json.dumps({n: rules[n][-1] for n in ("img-src", "media-src", "connect-src", "script-src")}))
"""


@pytest.mark.parametrize(
    ("more", "host"),
    [
        ({}, "https://films.s3.eu-central-1.amazonaws.com"),
        ({"S3_ENDPOINT_URL": "http://minio:9000"}, "http://minio:9000"),
        (
            {"S3_ENDPOINT_URL": "http://minio:9000", "S3_PUBLIC_URL": "https://films.club.example"},
            "https://films.club.example",
        ),
    ],
)
def test_the_content_policy_names_the_bucket(more, host, tmp_path):
    given = {"DATA_DIR": str(tmp_path), "STORAGE_URL": "s3://films", **KEYS, **more}
    told = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, capture_output=True, text=True, check=True,
        env={**given, "DJANGO_SETTINGS_MODULE": "portal.settings"},
    )  # fmt: skip
    assert json.loads(told.stdout) == {
        "img-src": host, "media-src": host, "connect-src": host, "script-src": "'self'",
    }  # fmt: skip
