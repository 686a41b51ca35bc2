"""A process that has loaded the decoder and waits to be forked: `start(…)` for short jobs.

Loading takes longer than a still does. The waiting process never opens a film itself: each job is
a fork of its own that takes on its limits and goes away, as a job of devplans.film.child does. It
leaves when whoever started it leaves, or when nothing was asked of it for a while.
"""

import array
import json
import os
import select
import signal
import socket
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from threading import Lock
from typing import IO, Any

IDLE_S = 600
_MOST_BYTES = 1 << 16


class Unavailable(Exception):
    """There is no such process, nor could one be started."""


class Forked:
    """One job, as far as its listener has to know it."""

    def __init__(self, nursery: "Nursery", pid: int, stdout: IO[bytes]) -> None:
        self.pid = pid
        self.stdout = stdout
        self.returncode: int | None = None
        self._nursery = nursery

    def end(self) -> None:
        """Kill what is left of the job; its number is not given to another before."""
        self.stdout.close()
        with suppress(Unavailable):
            self.returncode = self._nursery.ask({"end": self.pid})["code"]


class Nursery:
    """The waiting process of this one; started when it is needed first."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._owner = 0
        self._socket: socket.socket | None = None
        self._process: subprocess.Popen[bytes] | None = None

    def start(
        self, arguments: list[str], *, folder: Path, errors: IO[bytes], env: dict[str, str]
    ) -> Forked:
        """Begin a job of devplans.film.media_job in `folder`; raises Unavailable."""
        reading, writing = os.pipe()
        try:
            wanted = {"arguments": arguments, "folder": str(folder)}
            pid = self.ask(wanted, fds=[writing, errors.fileno()], env=env)["pid"]
        except BaseException:
            os.close(reading)
            raise
        finally:
            os.close(writing)
        return Forked(self, pid, os.fdopen(reading, "rb", buffering=0))

    def ask(
        self, wanted: dict[str, Any], *, fds: list[int] | None = None,
        env: dict[str, str] | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        with self._lock:
            try:
                place = self._open(env)
                socket.send_fds(place, [json.dumps(wanted).encode()], fds or [])
                answer = place.recv(_MOST_BYTES)
            except OSError as error:
                self._close()
                raise Unavailable from error
            if not answer:
                self._close()
                raise Unavailable
            return dict(json.loads(answer))

    def _open(self, env: dict[str, str] | None) -> socket.socket:
        if self._owner != os.getpid():
            # What was started before a fork of this process belongs to the other one.
            self._socket = self._process = None
        if self._socket is not None and self._process is not None and self._process.poll() is None:
            return self._socket
        if env is None:
            raise OSError("the process is gone, and its jobs with it")
        self._close()
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", "devplans.film.nursery", str(theirs.fileno())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                cwd="/",
                env=env,
                pass_fds=[theirs.fileno()],
                start_new_session=True,
            )
        self._socket, self._owner = ours, os.getpid()
        return ours

    def _close(self) -> None:
        if self._socket is not None:
            self._socket.close()
        if self._process is not None:
            self._process.kill()
            self._process.wait()
        self._socket = self._process = None


nursery = Nursery()


def serve(place: socket.socket) -> None:
    """Fork for each job that is asked for, until nobody is there to ask."""
    # Loaded here, so that no fork has to.
    import PIL.JpegImagePlugin  # noqa: F401

    import devplans.film.stills  # noqa: F401

    while select.select([place], [], [], IDLE_S)[0]:
        asked, fds, _flags, _address = socket.recv_fds(place, _MOST_BYTES, 2)
        if not asked:
            return
        wanted = json.loads(asked)
        if "end" in wanted:
            place.send(json.dumps({"code": _ended(wanted["end"])}).encode())
            continue
        pid = os.fork()
        if pid == 0:
            place.close()
            os._exit(_work(wanted, array.array("i", fds)))
        for one in fds:
            os.close(one)
        place.send(json.dumps({"pid": pid}).encode())


def _ended(pid: int) -> int:
    for kill in (os.killpg, os.kill):
        with suppress(ProcessLookupError, PermissionError):
            kill(pid, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def _work(wanted: dict[str, Any], fds: "array.array[int]") -> int:
    from devplans.film import media_job

    try:
        os.setsid()
        os.dup2(fds[0], 1)
        os.dup2(fds[1], 2)
        os.closerange(3, 256)
        os.chdir(wanted["folder"])
        os.environ["TMPDIR"] = tempfile.tempdir = wanted["folder"]
        sys.stdout = os.fdopen(1, "w")
        return media_job.main(wanted["arguments"])
    except BaseException as error:  # noqa: BLE001 - the fork must never go on as its parent
        os.write(2, repr(error).encode())
        return 1


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))
