"""One supervised program: started in a group of its own, stopped as a group, tied to its parent.

On Linux the kernel ends a program whose supervisor was killed; elsewhere the next start does
(`stop_leftovers`), by the mark that every program carries in its environment.
"""

import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

MARK = "PORTAL_SERVED_FROM"
PR_SET_PDEATHSIG = 1
PR_SET_CHILD_SUBREAPER = 36
_libc = ctypes.CDLL(None, use_errno=True) if sys.platform == "linux" else None


@dataclass(frozen=True)
class Program:
    """What to run and how patiently to stop it. A lower stage starts first and stops last."""

    name: str
    command: list[str]
    stage: int = 1
    niceness: int = 0
    patience_s: float = 10.0
    folder: Path | None = None
    environment: dict[str, str] = field(default_factory=dict)


def adopt_orphans() -> None:
    """Make this process the parent of grandchildren whose parent dies, so that none is lost."""
    if _libc is not None:
        _libc.prctl(PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)


def _tie_to(parent: int, niceness: int) -> Callable[[], None]:
    def tie() -> None:
        if _libc is not None:
            _libc.prctl(PR_SET_PDEATHSIG, signal.SIGTERM, 0, 0, 0)
            if os.getppid() != parent:
                os._exit(1)
        if niceness:
            os.nice(niceness)

    return tie


def start(program: Program, *, output: Path) -> subprocess.Popen[bytes]:
    """Start `program` in its own session, its output appended to the file `output`."""
    output.parent.mkdir(parents=True, exist_ok=True)
    with output.open("ab") as log:
        return subprocess.Popen(
            program.command,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            cwd=program.folder,
            env={**os.environ, **program.environment},
            start_new_session=True,
            preexec_fn=_tie_to(os.getpid(), program.niceness),
        )


def signal_group(pid: int, number: int) -> None:
    """Signal the whole group that `pid` leads, also when the leader itself is gone."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(pid, number)


def descendants(pid: int) -> list[int]:
    """All living descendants of `pid`, parents first; empty where the system does not tell."""
    found: list[int] = []
    waiting = [pid]
    while waiting:
        current = waiting.pop()
        for listing in Path(f"/proc/{current}/task").glob("*/children"):
            with suppress(OSError):
                children = [int(word) for word in listing.read_text().split()]
                found += children
                waiting += children
    return found


def marked(mark: str) -> list[int]:
    """Processes whose environment says that they were started for the data folder `mark`."""
    needle = f"{MARK}={mark}"
    own = os.getpid()
    if Path("/proc/self/environ").exists():
        return [pid for pid in _marked_in_proc(needle) if pid != own]
    listing = subprocess.run(
        ["ps", "axeww", "-o", "pid=,command="], capture_output=True, text=True, check=False
    ).stdout
    lines = [line for line in listing.splitlines() if f" {needle} " in f"{line} "]
    return [pid for line in lines if (pid := int(line.split(None, 1)[0])) != own]


def _marked_in_proc(needle: str) -> Iterable[int]:
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            with suppress(OSError):
                if needle.encode() in (folder / "environ").read_bytes().split(b"\0"):
                    yield int(folder.name)


def stop_leftovers(find: Callable[[], list[int]], *, patience_s: float = 5.0) -> int:
    """Stop whatever `find` finds: politely, then by force. How many there were."""
    first = find()
    for pid in first:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGTERM)
    deadline = time.monotonic() + patience_s
    while (left := find()) and time.monotonic() < deadline:
        reap_orphans()
        time.sleep(0.05)
    for pid in left:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    while find() and time.monotonic() < deadline + patience_s:
        reap_orphans()
        time.sleep(0.05)
    return len(first)


def reap_orphans(keep: Iterable[int] = ()) -> None:
    """Collect ended processes that were handed to this one, leaving those in `keep` to their owner.

    A process that ended and was not collected still counts as living in every list of processes.
    """
    owned = set(keep)
    with suppress(ChildProcessError):
        while found := os.waitid(os.P_ALL, 0, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            if found.si_pid in owned:
                break
            os.waitpid(found.si_pid, os.WNOHANG)
