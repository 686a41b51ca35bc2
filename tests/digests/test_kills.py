"""Workers are killed with SIGKILL while digests go out, through a real queue and a real server."""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import suppress
from email import message_from_bytes

import pytest
from aiosmtpd.controller import Controller
from celery import Celery

from tests import services
from tests.served import ROOT, wait_for

pytestmark = [pytest.mark.once, pytest.mark.soak, pytest.mark.timeout(900)]
LATENCY_S = 0.03


class Worker:
    """A Celery worker in a process group of its own, started again whenever it was killed."""

    def __init__(self, environment):
        self.environment, self.popen, self.kills = environment, None, 0
        self.lock = threading.Lock()

    def start(self):
        words = [sys.executable, "-m", "celery", "-A", "portal", "worker", "-Q", "mail", "-c", "2"]
        quiet = ["--without-gossip", "--without-mingle", "--without-heartbeat", "-l", "ERROR"]
        self.popen = subprocess.Popen(
            words + quiet, cwd=ROOT, env=self.environment, start_new_session=True
        )

    def kill(self):
        with self.lock, suppress(ProcessLookupError):
            os.killpg(self.popen.pid, signal.SIGKILL)
            self.popen.wait()
            self.kills += 1
            self.start()

    def stop(self):
        if self.popen is None:
            return
        with self.lock, suppress(ProcessLookupError):
            os.killpg(self.popen.pid, signal.SIGKILL)
            self.popen.wait()


class Sink:
    """Takes mail, slowly; at some mails it kills the sender before he hears that it arrived."""

    def __init__(self, worker, at):
        self.worker, self.at, self.seen = worker, set(at), 0
        self.received, self.in_hand = Counter(), 0

    async def handle_DATA(self, server, session, envelope):
        self.seen += 1
        message_id = message_from_bytes(envelope.content)["Message-ID"]
        if self.seen in self.at:
            self.in_hand += 1
            if self.in_hand % 2:  # every other time the mail was taken already
                self.received[message_id] += 1
            threading.Thread(target=self.worker.kill).start()
            time.sleep(0.3)
            return "451 too late"
        time.sleep(LATENCY_S)
        self.received[message_id] += 1
        return "250 taken"


def send_through_kills(tmp_path, *, families, kills_in_hand, kills_at_random):
    """Returns (mails that should arrive, how often each did, kills, kills while a row was sent)."""
    chance = random.Random(20261125)
    with services.valkey() as redis_url:
        kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
        port = services.free_port()
        environment = kept | {
            "DATA_DIR": str(tmp_path),
            "REDIS_URL": redis_url,
            "EMAIL_URL": f"smtp://127.0.0.1:{port}",
            "OUTBOX_LEASE_S": "3",
            "DJANGO_SETTINGS_MODULE": "portal.settings",
        }
        worker = Worker(environment)
        marks = sorted(chance.sample(range(5, families), kills_in_hand))
        sink = Sink(worker, marks)
        controller = Controller(sink, hostname="127.0.0.1", port=port)
        controller.start()
        # Not the current one: tasks of later tests would be rung for on this broker, which is gone.
        queue = Celery(broker=redis_url, set_as_current=False)
        try:
            run(environment, "manage.py", "migrate", "--verbosity", "0")
            run(environment, "-m", "tests.digests.seed_families", str(families))
            worker.start()
            run(environment, "manage.py", "digests", "--send")
            ring_until_all_arrived(queue, sink, worker, families, kills_at_random, chance)
            return sent_in_the_end(queue, environment, families), sink, worker.kills
        finally:
            worker.stop()
            controller.stop()


def run(environment, *words):
    full = [sys.executable, *words]
    return subprocess.run(
        full, cwd=ROOT, env=environment, check=True, capture_output=True, text=True
    )


def ring_until_all_arrived(queue, sink, worker, families, kills_at_random, chance):
    left, ring_at, kill_at = kills_at_random, 0.0, time.monotonic() + 2

    def done():
        nonlocal left, ring_at, kill_at
        now = time.monotonic()
        if now >= ring_at:
            queue.send_task("core.sweep_outbox", queue="mail")
            ring_at = now + 1
        if left and now >= kill_at:
            worker.kill()
            left, kill_at = left - 1, now + chance.uniform(1.5, 3.5)
        return not left and len(sink.received) >= families and sink.in_hand >= len(sink.at)

    wait_for(done, seconds=600)


def sent_in_the_end(queue, environment, families):
    """How many rows say that they are sent. The last kill may have hit while a mail that arrived
    was in hand: its row waits for its lease to run out."""
    deadline = time.monotonic() + 60
    while (sent := count_sent(environment)) < families and time.monotonic() < deadline:
        queue.send_task("core.sweep_outbox", queue="mail")
        time.sleep(1)
    return sent


def count_sent(environment):
    code = (
        "from devplans.core.models import Message;"
        "print(Message.objects.filter(state='sent').count())"
    )
    return int(run(environment, "manage.py", "shell", "-v", "0", "-c", code).stdout.split()[-1])


def check(sent, sink, kills, families):
    duplicates = sum(sink.received.values()) - len(sink.received)
    print(
        f"families {families}, kills {kills}, {sink.in_hand} of them while sending; "
        f"duplicates {duplicates}"
    )
    assert len(sink.received) == families, "missing mails"
    assert sent == families
    assert duplicates <= kills
    return duplicates


def test_five_hundred_digests_and_twenty_kills(tmp_path):
    sent, sink, kills = send_through_kills(
        tmp_path, families=500, kills_in_hand=12, kills_at_random=8
    )
    check(sent, sink, kills, 500)
    assert kills >= 20
    assert sink.in_hand >= 10


def test_without_kills_nothing_comes_twice(tmp_path):
    sent, sink, kills = send_through_kills(
        tmp_path, families=500, kills_in_hand=0, kills_at_random=0
    )
    assert check(sent, sink, kills, 500) == kills == 0
