"""The supervisor with small stand-in programs; `test_serve.py` has the real ones."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from portal import programs
from portal.programs import Program
from portal.supervisor import Supervisor

pytestmark = pytest.mark.once

SLEEPER = "import time; time.sleep(600)"
WITH_GRANDCHILD = (
    "import subprocess, sys, time;"
    f"subprocess.Popen([sys.executable, '-c', {SLEEPER!r}], start_new_session=True);"
    "time.sleep(600)"
)
STUBBORN = (
    "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN);"
    "print('deaf', flush=True); time.sleep(600)"
)
RUN = """
import sys
from pathlib import Path
from portal.programs import Program
from portal.supervisor import Supervisor
code, folder = sys.argv[1], Path(sys.argv[2])
command = [sys.executable, "-c", code]
listed = [Program(name, command, stage=stage, patience_s=1) for stage, name in enumerate("ab")]
say = lambda line: print(line, flush=True)
supervisor = Supervisor(listed, data_dir=folder, say=say, first_pause_s=0.05)
supervisor.listen()
supervisor.run(pause_s=0.02)
supervisor.stop()
print("Stopped.", flush=True)
"""


def wait_for(condition, *, seconds=20):
    deadline = time.monotonic() + seconds
    while not (result := condition()):
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.02)
    return result


def living(folder: Path) -> list[int]:
    return programs.marked(str(folder))


@pytest.fixture
def launch(tmp_path):
    """Start a supervisor of two programs that run `code`, as a process of its own."""
    started = []

    def start(code):
        popen = subprocess.Popen(
            [sys.executable, "-c", RUN, code, str(tmp_path)], stdout=subprocess.PIPE, text=True
        )
        started.append(popen)
        wait_for(lambda: len(living(tmp_path)) >= 2)
        return popen

    yield start
    for popen in started:
        popen.kill()
        popen.communicate()
    programs.stop_leftovers(lambda: living(tmp_path))


def make_supervisor(tmp_path, *listed, **options):
    lines = []
    return Supervisor(list(listed), data_dir=tmp_path, say=lines.append, **options), lines


def test_a_killed_program_is_started_again(launch, tmp_path):
    supervisor = launch(SLEEPER)
    before = living(tmp_path)
    os.kill(before[0], signal.SIGKILL)
    wait_for(lambda: before[0] not in living(tmp_path) and len(living(tmp_path)) == 2)
    assert before[1] in living(tmp_path)
    supervisor.terminate()
    assert "killed by SIGKILL" in supervisor.communicate(timeout=20)[0]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_one_signal_stops_everything(launch, tmp_path, number):
    supervisor = launch(WITH_GRANDCHILD)
    wait_for(lambda: len(living(tmp_path)) == 4)
    supervisor.send_signal(number)
    assert supervisor.communicate(timeout=20)[0].endswith("Stopped.\n")
    assert supervisor.returncode == 0
    assert living(tmp_path) == []


def test_two_signals_at_once_stop_everything_too(launch, tmp_path):
    supervisor = launch(WITH_GRANDCHILD)
    supervisor.send_signal(signal.SIGINT)
    supervisor.send_signal(signal.SIGTERM)
    supervisor.communicate(timeout=20)
    assert supervisor.returncode == 0
    assert living(tmp_path) == []


def test_a_deaf_program_is_stopped_by_force(launch, tmp_path):
    supervisor = launch(STUBBORN)
    log = tmp_path / "log" / "b.log"
    wait_for(lambda: log.exists() and "deaf" in log.read_text())
    supervisor.terminate()
    supervisor.communicate(timeout=20)
    assert living(tmp_path) == []


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells children of a killed parent")
def test_programs_do_not_outlive_a_killed_supervisor(launch, tmp_path):
    supervisor = launch(SLEEPER)
    supervisor.kill()
    wait_for(lambda: living(tmp_path) == [])


def test_a_fresh_start_finds_and_stops_what_an_earlier_run_left(tmp_path):
    left = subprocess.Popen(
        [sys.executable, "-c", SLEEPER], env={**os.environ, programs.MARK: str(tmp_path)}
    )
    other = subprocess.Popen(
        [sys.executable, "-c", SLEEPER], env={**os.environ, programs.MARK: f"{tmp_path}-other"}
    )
    try:
        wait_for(lambda: living(tmp_path) == [left.pid])
        programs.stop_leftovers(lambda: [pid for pid in living(tmp_path) if left.poll() is None])
        assert left.wait(timeout=5) == -signal.SIGTERM
        assert other.poll() is None
    finally:
        for popen in (left, other):
            popen.kill()
            popen.wait()


def test_a_program_that_never_starts_ends_the_run_with_its_last_words(tmp_path, monkeypatch):
    # stop() ends every descendant of its process, and this one has servers of other tests.
    monkeypatch.setattr(programs, "descendants", lambda _pid: [])
    broken = Program("broken", [sys.executable, "-c", "raise SystemExit('no such luck')"])
    supervisor, lines = make_supervisor(tmp_path, broken, first_pause_s=0.01, give_up_after=3)
    supervisor.run(pause_s=0.01)
    supervisor.stop()
    assert supervisor.failed
    assert lines.count("broken ended (exit code 1); starting it again.") == 3
    assert lines[-1].endswith("no such luck")


def test_pauses_between_starts_grow(tmp_path):
    broken = Program("broken", [sys.executable, "-c", ""])
    supervisor, _ = make_supervisor(tmp_path, broken, first_pause_s=8, give_up_after=99)
    pauses = []
    for _ in range(4):
        supervisor.children[0].start_at = 0
        supervisor.tick()
        wait_for(lambda: supervisor.tick() or supervisor.children[0].popen is None)
        pauses.append(supervisor.children[0].start_at - time.monotonic())
    assert [round(pause) for pause in pauses] == [8, 16, 30, 30]


def test_a_later_second_request_hurries_and_an_echo_does_not(tmp_path, monkeypatch):
    supervisor, _ = make_supervisor(tmp_path)
    now = [100.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    supervisor.ask_to_stop()
    now[0] += 0.1
    supervisor.ask_to_stop()
    assert (supervisor.stopping, supervisor.hasty) == (True, False)
    now[0] += 2
    supervisor.ask_to_stop()
    assert supervisor.hasty


def test_a_long_log_is_cut_and_its_older_part_kept(tmp_path, monkeypatch):
    monkeypatch.setattr("portal.supervisor.LOG_LIMIT_BYTES", 100)
    supervisor, _ = make_supervisor(tmp_path, Program("web", ["true"]))
    path = supervisor.log_path("web")
    path.parent.mkdir()
    path.write_text("x" * 101)
    supervisor.trim_logs()
    assert path.read_text() == ""
    assert path.with_suffix(".1.log").read_text() == "x" * 101
