"""`manage.py serve`: web server, workers, beat and broker under one supervisor."""

import fcntl
import http.client
import json
import os
import socket
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from portal import broker, programs
from portal.programs import Program
from portal.supervisor import Supervisor

LONG_START_S = 30.0


class CannotServe(RuntimeError):
    """Why nothing was started, in words for the person who tried."""


@dataclass(frozen=True)
class Plan:
    """Where to serve from and to. `own_broker` is off where REDIS_URL names a server."""

    base_dir: Path
    data_dir: Path
    host: str
    port: int
    own_broker: bool

    @property
    def address(self) -> str:
        everywhere = {"0.0.0.0", "::"}  # noqa: S104  # only compared with
        shown = "127.0.0.1" if self.host in everywhere else self.host
        return f"http://{shown}:{self.port}"


def listed(plan: Plan) -> list[Program]:
    """Everything that one machine runs. Films have a worker of their own, behind everyone else."""
    python = [sys.executable, "-m"]
    celery = [*python, "celery", "-A", "portal.celery"]
    worker = [*celery, "worker", "--loglevel", "warning", "--without-gossip", "--without-mingle"]
    web = [*python, "granian", "--interface", "wsgi", "portal.wsgi:application"]
    web += ["--host", plan.host, "--port", str(plan.port), "--workers", "2"]
    web += ["--blocking-threads", "4", "--respawn-failed-workers", "--no-ws"]
    web += ["--workers-kill-timeout", "5", "--log-level", "warning"]
    beat = [*celery, "beat", "--loglevel", "warning", "--pidfile", ""]
    beat += ["--schedule", str(plan.data_dir / "run" / "beat")]
    mail = [*worker, "--hostname", "mail@%h", "--queues", "mail,clips", "--concurrency", "2"]
    media = [*worker, "--hostname", "media@%h", "--queues", "media", "--concurrency", "1"]
    fetch = [*worker, "--hostname", "fetch@%h", "--queues", "fetch,speech"]
    fetch += ["--pool", "threads", "--concurrency", "6"]
    own = plan.base_dir
    everything = [broker.program(plan.data_dir)] if plan.own_broker else []
    everything += [Program("web", web, folder=own), Program("worker-mail", mail, folder=own)]
    everything += [Program("worker-media", media, folder=own, niceness=10)]
    everything += [Program("worker-fetch", fetch, folder=own, patience_s=5)]
    everything += [Program("beat", beat, folder=own, patience_s=5)]
    return everything


@contextmanager
def only_one(plan: Plan) -> Iterator[None]:
    """Hold the data folder: two supervisors on one would fight over broker and database."""
    path = plan.data_dir / "run" / "serve.lock"
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            lock.seek(0)
            raise CannotServe(
                f"The portal already runs on {plan.data_dir} ({lock.read().strip()}). "
                "Stop it with Ctrl-C where it runs, or set DATA_DIR to another folder."
            ) from None
        lock.truncate(0)
        lock.write(f"process {os.getpid()}, {plan.address}\n")
        lock.flush()
        yield


def require_free_port(plan: Plan) -> None:
    """Refuse a port that is taken. The web server itself would share it without a word."""
    family = socket.AF_INET6 if ":" in plan.host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((plan.host, plan.port))
        except OSError as error:
            raise CannotServe(
                f"Cannot listen on {plan.host}:{plan.port}: {error.strerror}. Another program uses "
                f"this port; stop it, or choose another one, for example PORT={plan.port + 1}."
            ) from None


def clear_leftovers(plan: Plan, say: Callable[[str], None]) -> None:
    """End what an earlier run left behind after its supervisor was killed."""
    count = programs.stop_leftovers(lambda: programs.marked(str(plan.data_dir)))
    if count:
        say(f"Stopped {count} left over from an earlier run.")
    if plan.own_broker:
        broker.clear(broker.socket_path(plan.data_dir))


def health(plan: Plan) -> tuple[int, dict[str, str]]:
    """Status and parts as /healthz tells them; (0, {}) where nothing answers."""
    host = plan.address.removeprefix("http://").rsplit(":", 1)[0]
    connection = http.client.HTTPConnection(host, plan.port, timeout=2)
    try:
        connection.request("GET", "/healthz")
        answer = connection.getresponse()
        return answer.status, json.loads(answer.read())
    except (OSError, http.client.HTTPException, ValueError):
        return 0, {}
    finally:
        connection.close()


class Announcement:
    """Says once that everything answers, or after half a minute what does not yet."""

    def __init__(self, plan: Plan, supervisor: Supervisor, welcome: list[str]) -> None:
        self.plan, self.supervisor, self.welcome = plan, supervisor, welcome
        self.begun = time.monotonic()
        self.asked_at = 0.0
        self.complained = False

    def __call__(self) -> None:
        now = time.monotonic()
        if self.supervisor.settled or now - self.asked_at < 0.5:
            return
        self.asked_at = now
        status, parts = health(self.plan)
        if status == 200:
            self.supervisor.settled = True
            for line in (f"Ready: {self.plan.address}/", *self.welcome):
                self.supervisor.say(line)
        elif now - self.begun > LONG_START_S and not self.complained:
            self.complained = True
            missing = ", ".join(name for name, state in parts.items() if state != "ok") or "web"
            self.supervisor.say(
                f"Still waiting for: {missing}. See the logs in {self.plan.data_dir / 'log'}."
            )


def serve(
    plan: Plan,
    *,
    prepare: Callable[[], None],
    say: Callable[[str], None],
    welcome: list[str],
    stop_with_parent: bool = False,
) -> int:
    """Run everything until told to stop; the exit code. Raises CannotServe before a start."""
    with only_one(plan):
        clear_leftovers(plan, say)
        require_free_port(plan)
        prepare()
        supervisor = Supervisor(listed(plan), data_dir=plan.data_dir, say=say)
        supervisor.listen(stop_with_parent=stop_with_parent)
        try:
            supervisor.start_stage(0)
            if plan.own_broker and not broker.wait_until_up(broker.socket_path(plan.data_dir)):
                say("The broker does not start. " + supervisor.last_words("broker"))
                return 1
            supervisor.run(every=Announcement(plan, supervisor, welcome))
        finally:
            supervisor.stop()
        say("Stopped.")
    return 1 if supervisor.failed else 0
