"""The real thing, started as a person starts it."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from portal import programs
from tests.services import free_port

pytestmark = pytest.mark.once

ROOT = Path(__file__).resolve().parents[2]
PARTS = {"web": "ok", "database": "ok", "queue": "ok", "worker": "ok"}


def wait_for(condition, *, seconds=60):
    deadline = time.monotonic() + seconds
    while not (result := condition()):
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.1)
    return result


class Portal:
    """`manage.py serve` on a folder and port of its own."""

    def __init__(self, data_dir, port):
        self.data_dir, self.port = data_dir, port
        self.output = data_dir.parent / "output.txt"
        kept = ("PATH", "HOME", "LANG", "TMPDIR")
        self.environment = {name: os.environ[name] for name in kept if name in os.environ}
        self.environment |= {"DATA_DIR": str(data_dir), "PORT": str(port)}
        self.popen = None

    def start(self, *more):
        with self.output.open("w") as output:
            self.popen = subprocess.Popen(
                [sys.executable, "manage.py", "serve", *more],
                cwd=ROOT,
                env=self.environment,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        return self

    def said(self):
        return self.output.read_text()

    def until_ready(self):
        wait_for(lambda: "Ready: " in self.said() or self.popen.poll() is not None)
        assert f"Ready: http://127.0.0.1:{self.port}/" in self.said()
        return self

    def running(self):
        return programs.marked(str(self.data_dir))

    def named(self, word):
        found = {}
        for pid in self.running():
            words = Path(f"/proc/{pid}/cmdline").read_bytes().decode().split("\0")
            if word in words or any(part.endswith(f"/{word}") for part in words):
                found[pid] = words
        return found

    def health(self):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            connection.request("GET", "/healthz")
            answer = connection.getresponse()
            return answer.status, json.loads(answer.read())
        except OSError:
            return 0, {}
        finally:
            connection.close()

    def end(self):
        if self.popen is not None:
            self.popen.kill()
            self.popen.wait()
        programs.stop_leftovers(self.running)


@pytest.fixture(scope="module")
def portal(tmp_path_factory):
    served = Portal(tmp_path_factory.mktemp("serve") / "data", free_port())
    yield served
    served.end()


def test_from_start_to_stop(portal):
    """One story, since each start takes seconds: up, a crash of each part, a kill, up, stop."""
    portal.start().until_ready()
    assert portal.health() == (200, PARTS)
    wait_for(lambda: len(portal.running()) == 10)

    # Each part is killed in turn, and each comes back.
    for word in ("valkey-server", "granian", "media@%h", "mail@%h", "beat"):
        victim = min(portal.named(word))
        os.kill(victim, signal.SIGKILL)
        wait_for(lambda w=word, v=victim: v not in portal.named(w) and portal.named(w))
    wait_for(lambda: portal.health() == (200, PARTS))
    wait_for(lambda: len(portal.running()) == 10)

    # A second one on the same folder, and another on the same port, are refused with the reason.
    second = subprocess.run(
        [sys.executable, "manage.py", "serve", "--port", str(free_port())],
        cwd=ROOT, env=portal.environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert second.returncode == 1
    assert f"already runs on {portal.data_dir} (process {portal.popen.pid}" in second.stderr

    # The supervisor itself is killed: a fresh start works at once and leaves nothing of the old.
    before = set(portal.running())
    portal.popen.kill()
    portal.popen.wait()
    portal.start().until_ready()
    assert before.isdisjoint(portal.running())
    wait_for(lambda: len(portal.running()) == 10)

    portal.popen.send_signal(signal.SIGINT)
    portal.popen.send_signal(signal.SIGTERM)
    assert portal.popen.wait(timeout=30) == 0
    assert portal.said().endswith("Stopped.\n")
    assert portal.running() == []


def test_a_port_in_use_is_named(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        served = Portal(tmp_path / "data", taken.getsockname()[1]).start()
        assert served.popen.wait(timeout=60) == 1
    assert f"Cannot listen on 127.0.0.1:{served.port}" in served.said()
    assert f"PORT={served.port + 1}" in served.said()
    assert served.running() == []


def test_it_ends_with_the_shell_that_called_it(tmp_path):
    served = Portal(tmp_path / "data", free_port())
    caller = subprocess.Popen(
        ["sh", "-c", f"{sys.executable} manage.py serve --stop-with-parent >{served.output}; true"],
        cwd=ROOT,
        env=served.environment,
    )
    wait_for(lambda: served.output.exists() and "Ready: " in served.said())
    caller.kill()
    caller.wait()
    wait_for(lambda: served.said().endswith("Stopped.\n"))
    assert served.running() == []
