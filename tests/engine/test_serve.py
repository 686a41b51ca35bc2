"""The real thing, started as a person starts it."""

import os
import signal
import socket
import subprocess
import sys

import pytest

from tests.served import ROOT, Portal, wait_for
from tests.services import free_port

pytestmark = [pytest.mark.once, pytest.mark.long]

PARTS = {"web": "ok", "database": "ok", "queue": "ok", "worker": "ok"}
# Broker, web server with a worker and its tracker, three workers of which two have a child, beat.
PROCESSES = 11


@pytest.fixture(scope="module")
def portal(tmp_path_factory):
    served = Portal(tmp_path_factory.mktemp("serve") / "data", free_port())
    yield served
    served.stop()


def test_from_start_to_stop(portal):
    """One story, since each start takes seconds: up, a crash of each part, a kill, up, stop."""
    portal.start().until_ready()
    assert portal.health() == (200, PARTS)
    wait_for(lambda: len(portal.running()) == PROCESSES)

    # Each part is killed in turn, and each comes back.
    for word in ("valkey-server", "granian", "media@%h", "mail@%h", "fetch@%h", "beat"):
        victim = min(portal.named(word))
        os.kill(victim, signal.SIGKILL)
        wait_for(lambda w=word, v=victim: v not in portal.named(w) and portal.named(w))
    wait_for(lambda: portal.health() == (200, PARTS))
    wait_for(lambda: len(portal.running()) == PROCESSES)

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
    wait_for(lambda: len(portal.running()) == PROCESSES)

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
    wait_for(lambda: "Ready: " in served.said())
    caller.kill()
    caller.wait()
    wait_for(lambda: served.said().endswith("Stopped.\n"))
    assert served.running() == []
