"""A client that is not ours, a line that breaks, a portal that is killed, a disk that fills up."""

import hashlib
import os
import re
import shutil
import signal
import socket
import struct
import subprocess
import threading
import time
from contextlib import suppress
from pathlib import Path
from random import Random

import pytest
import requests

from tests.film.films import shared_film
from tests.served import DEMO_PASSWORD, Portal, wait_for
from tests.services import free_port

pytestmark = [pytest.mark.soak, pytest.mark.once, pytest.mark.timeout(900)]
FILM_BYTES = 200 * 1024 * 1024
CHUNK = 8 * 1024 * 1024
ABORTS = 20


class BreakingLine:
    """A way to the portal that breaks its first connections off in the middle of what is sent."""

    def __init__(self, port: int, breaks: int, on_break) -> None:
        self.port, self.left, self.on_break = port, breaks, on_break
        self.chance, self.broken = Random(5), 0
        self.server = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.server.getsockname()[1]}"
        self.is_open = True
        threading.Thread(target=self.serve, daemon=True).start()

    def serve(self):
        while self.is_open:
            with suppress(OSError):
                here, _ = self.server.accept()
                threading.Thread(target=self.carry, args=(here,), daemon=True).start()

    def carry(self, here):
        try:
            there = socket.create_connection(("127.0.0.1", self.port), timeout=60)
        except OSError:
            here.close()
            return
        threading.Thread(target=self.back, args=(there, here), daemon=True).start()
        most = self.chance.randrange(CHUNK // 8, CHUNK)
        sent = 0
        with suppress(OSError):
            while piece := here.recv(64 * 1024):
                sent += len(piece)
                if sent > most and self.left > 0:
                    self.cut(here, there)
                    return
                there.sendall(piece)
        with suppress(OSError):
            there.shutdown(socket.SHUT_WR)

    def cut(self, *ends):
        """As a network that is gone does: no goodbye."""
        self.left -= 1
        self.broken += 1
        for end in ends:
            with suppress(OSError):
                end.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                end.close()
        self.on_break(self.broken)

    @staticmethod
    def back(there, here):
        with suppress(OSError):
            while piece := there.recv(64 * 1024):
                here.sendall(piece)
        with suppress(OSError):
            here.close()

    def close(self):
        self.is_open = False
        self.server.close()


def big_film(path: Path) -> Path:
    """A film that plays, with 200 MB in it that no player looks at."""
    film = shared_film("bikes").read_bytes()
    room = FILM_BYTES - len(film)
    with path.open("wb") as file:
        file.write(film + struct.pack(">I", room) + b"free")
        chance = Random(7)
        left = room - 8
        while left:
            left -= file.write(chance.randbytes(min(left, 1 << 20)))
    assert path.stat().st_size == FILM_BYTES
    return path


@pytest.fixture
def portal(tmp_path):
    served = Portal(tmp_path / "data", free_port())
    served.load_demo()
    try:
        yield served.start().until_ready()
    finally:
        served.stop()


def signed_in(address: str) -> requests.Session:
    session = requests.Session()
    page = f"{address}/accounts/login/"
    token = re.search(r'csrfmiddlewaretoken" value="([^"]+)', session.get(page).text)[1]
    words = {
        "login": "coach@club.example", "password": DEMO_PASSWORD, "csrfmiddlewaretoken": token,
    }  # fmt: skip
    answer = session.post(page, words, headers={"Referer": page}, allow_redirects=False)
    assert answer.status_code == 302, answer.text[:500]
    return session


def client_of(session, address: str):
    from tusclient.client import TusClient

    cookies = "; ".join(f"{one.name}={one.value}" for one in session.cookies)
    headers = {"Cookie": cookies, "X-CSRFToken": session.cookies["csrftoken"]}
    return TusClient(f"{address}/api/v1/uploads/", headers=headers)


def kill_web(portal: Portal) -> None:
    found = portal.named("granian")
    assert found
    for pid in found:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)


def sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def test_a_film_survives_a_breaking_line_and_a_killed_portal(portal, tmp_path):
    film = big_film(tmp_path / "game.mp4")
    session = signed_in(portal.address)
    squad = session.get(f"{portal.address}/api/v1/me/").json()["squads"][0]["id"]
    killed = []

    def on_break(count):
        if count == ABORTS // 2:
            killed.append(sorted(portal.named("granian")))
            kill_web(portal)

    line = BreakingLine(portal.port, ABORTS, on_break)
    client = client_of(session, line.address)
    uploader = client.uploader(
        str(film), chunk_size=CHUNK, retries=200, retry_delay=1,
        metadata={"filename": "game.mp4", "title": "Game", "squad": squad},
    )  # fmt: skip
    began = time.monotonic()
    uploader.upload()
    line.close()
    print(f"sent in {time.monotonic() - began:.0f} s; {line.broken} broken off; killed {killed}")
    assert line.broken == ABORTS
    assert killed
    assert sorted(portal.named("granian")) != killed[0]
    film_id = uploader.url.rstrip("/").rsplit("/", 1)[1]
    original = portal.data_dir / "media" / "films" / film_id / "original"
    assert sha256(original) == sha256(film)
    head = session.head(uploader.url, headers={"Tus-Resumable": "1.0.0"})
    assert head.headers["Upload-Offset"] == str(FILM_BYTES)
    url = f"{portal.address}/api/v1/films/{film_id}/"
    wait_for(lambda: session.get(url).json()["state"] == "ready", seconds=240)
    assert session.get(url).json()["duration_ms"] == 10_000


@pytest.fixture
def small_disk(tmp_path):
    """A disk of its own; only a machine that may mount one has it."""
    place = tmp_path / "small"
    place.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=24m", "tmpfs", str(place)]
    if shutil.which("mount") is None or subprocess.run(words, capture_output=True).returncode:
        pytest.skip("a disk cannot be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.mark.django_db
def test_a_disk_that_is_full_says_507_and_goes_on_when_there_is_room(
    cast, settings, small_disk, monkeypatch
):
    from devplans.film import intake
    from devplans.film.models import Film
    from tests.film.test_tus import FILM, Sender

    settings.FILE_UPLOAD_TEMP_DIR = str(small_disk / "incoming")
    settings.MEDIA_ROOT = small_disk / "media"
    monkeypatch.setattr(intake, "RESERVE_BYTES", 0)
    monkeypatch.setattr("devplans.film.tasks.prepare.delay_on_commit", lambda _film: None)
    body = FILM + Random(3).randbytes(16 * 1024 * 1024)
    sender = Sender(cast.coach)
    answer = sender.begin(len(body), filename="game.mp4", title="Game", squad=cast.squad.pk)
    assert answer.status_code == 201
    ballast = small_disk / "others"
    ballast.write_bytes(bytes(12 * 1024 * 1024))
    place, at, full = answer["Location"], 0, None
    while at < len(body):
        part = body[at : at + CHUNK]
        answer = sender.send(place, at, part)
        there = sender.offset(place)
        if answer.status_code == 507:
            assert full is None
            full = there
            assert at < there < at + len(part)
            assert Film.objects.get().state == "uploading"
            ballast.unlink()
        else:
            assert answer.status_code == 204
        at = there
    print(f"full after {full} bytes of {len(body)}")
    assert full is not None
    film = Film.objects.get()
    assert film.state == "waiting"
    whole = settings.MEDIA_ROOT / film.original_key
    assert hashlib.sha256(whole.read_bytes()).digest() == hashlib.sha256(body).digest()
    late = sender.begin(20 * 1024 * 1024, filename="b.mp4", squad=cast.squad.pk)
    assert late.status_code == 507
