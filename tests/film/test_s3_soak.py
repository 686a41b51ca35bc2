"""Two machines with disks of their own, one database, one bucket: a film is sent by way of both."""

import hashlib
import itertools
import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from tests.film.bucket import KEYS, NAME, body, keys
from tests.film.test_tus_soak import BreakingLine, client_of, signed_in
from tests.served import DEMO_PASSWORD, wait_for
from tests.services import free_port

pytestmark = [pytest.mark.soak, pytest.mark.once, pytest.mark.timeout(600)]
ROOT = Path(__file__).resolve().parents[2]
MIB = 1024 * 1024
CHUNK = 8 * MIB
ABORTS = 6
COACH = f"""
from tests import factories as make
squad = make.make_squad()
coach = make.make_user(email="coach@club.example")
coach.set_password({DEMO_PASSWORD!r})
coach.save()
make.make_member(coach, "coach", club=squad.season.club, squad=squad)
print(squad.pk)
"""


class Machine:
    """A web server whose folder no other machine sees."""

    def __init__(self, folder, **environment):
        folder.mkdir()
        self.port, self.popen = free_port(), None
        self.environment = {
            **{name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ},
            **environment,
            "DATA_DIR": str(folder),
            "PUBLIC_URL": f"http://127.0.0.1:{self.port}",
        }

    def run(self, *words):
        told = subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert told.returncode == 0, told.stderr
        return told.stdout

    def start(self):
        words = ["--interface", "wsgi", "portal.wsgi:application", "--port", str(self.port)]
        self.popen = subprocess.Popen(
            [sys.executable, "-m", "granian", *words, "--blocking-threads", "4"],
            cwd=ROOT,
            env=self.environment,
            start_new_session=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        return self

    def kill(self):
        with suppress(ProcessLookupError):
            os.killpg(self.popen.pid, signal.SIGKILL)
        self.popen.wait()


@pytest.fixture
def machines(tmp_path, s3, bucket, redis_url):
    shared = {
        "DATABASE_URL": f"sqlite:///{tmp_path / 'shared.sqlite3'}",
        "REDIS_URL": redis_url,
        "STORAGE_URL": f"s3://{NAME}",
        "S3_ENDPOINT_URL": s3,
        "STATIC_ROOT": str(tmp_path / "static"),
        **KEYS,
    }
    made = [Machine(tmp_path / name, **shared) for name in ("one", "two")]
    made[0].run("migrate", "-v0")
    made[0].run("collectstatic", "-v0", "--noinput")
    try:
        yield [machine.start() for machine in made]
    finally:
        for machine in made:
            machine.kill()


class Crossing(BreakingLine):
    """Leads each connection to the next machine."""

    def __init__(self, machines, **more):
        self.ports = itertools.cycle([machine.port for machine in machines])
        super().__init__(0, **more)

    @property
    def port(self):
        return next(self.ports)

    @port.setter
    def port(self, _first):
        pass


def test_a_film_sent_by_way_of_two_machines_arrives_whole(machines, bucket, tmp_path):
    squad = machines[0].run("shell", "-v0", "-c", COACH).split()[-1]
    content = b"\0\0\0\x18ftypisom" + random.Random(8).randbytes(60 * MIB)
    path = tmp_path / "game.mp4"
    path.write_bytes(content)

    def on_break(number):
        if number == 3:
            machines[0].kill()
            machines[0].start()

    for machine in machines:
        wait_for(lambda at=machine.port: answers(at), seconds=180)
    session = signed_in(f"http://127.0.0.1:{machines[1].port}")
    line = Crossing(machines, breaks=ABORTS, on_break=on_break)
    words = {"filename": "game.mp4", "title": "Game", "squad": squad}
    uploader = client_of(session, line.address).uploader(
        str(path), chunk_size=CHUNK, metadata=words, retries=0
    )
    begun, offsets = time.monotonic(), []
    while uploader.offset < len(content):
        try:
            uploader.upload_chunk()
        except Exception:  # noqa: BLE001  # whatever a client may say of a lost line
            time.sleep(1)
            with suppress(Exception):
                uploader.offset = uploader.get_offset() if uploader.url else 0
        offsets.append(uploader.offset)
        assert time.monotonic() - begun < 300
    line.close()
    assert line.broken == ABORTS
    assert len({offset % CHUNK for offset in offsets}) > 2, "cut off chunks count"
    (key,) = keys(bucket)
    assert hashlib.sha256(body(bucket, key)).digest() == hashlib.sha256(content).digest()


def answers(port):
    from http.client import HTTPConnection

    with suppress(OSError):
        asked = HTTPConnection("127.0.0.1", port, timeout=2)
        asked.request("GET", "/accounts/login/")
        return asked.getresponse().status == 200
    return False
