"""An hour's worth of bad luck in a few minutes: parts are killed at random while it runs."""

import os
import random
import signal
import time
from contextlib import suppress

import pytest

from tests.engine.test_serve import PROCESSES
from tests.served import Portal, wait_for
from tests.services import free_port

pytestmark = [pytest.mark.once, pytest.mark.soak]

KILLS = 30


def test_it_recovers_from_every_kill(tmp_path):
    portal = Portal(tmp_path / "data", free_port()).start().until_ready()
    chance = random.Random(20261125)
    try:
        for _ in range(KILLS):
            # For a moment all may be down, each waiting for its next start.
            running = wait_for(portal.running)
            with suppress(ProcessLookupError):
                os.kill(chance.choice(running), signal.SIGKILL)
            time.sleep(chance.uniform(0.1, 1.5))
        wait_for(lambda: len(portal.running()) == PROCESSES, seconds=90)
        wait_for(lambda: portal.health()[0] == 200, seconds=90)
        portal.popen.send_signal(signal.SIGTERM)
        assert portal.popen.wait(timeout=60) == 0
        assert portal.running() == []
    finally:
        portal.stop()
