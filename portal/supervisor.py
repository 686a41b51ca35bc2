"""Starts a set of programs, restarts what crashes, and stops all of them together."""

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from portal import programs
from portal.programs import Program

LONGEST_PAUSE_S = 30.0
STEADY_AFTER_S = 20.0
LOG_LIMIT_BYTES = 10 * 1024 * 1024
HASTE_AFTER_S = 1.0


@dataclass
class Child:
    """A program with its current run; `popen` is None while it waits for its next start."""

    program: Program
    popen: subprocess.Popen[bytes] | None = None
    started_at: float = 0.0
    start_at: float = 0.0
    crashes: int = 0


class Supervisor:
    """Runs programs until it is told to stop by SIGINT, SIGTERM or SIGHUP, or by `ask_to_stop`.

    say: prints one line for the person at the terminal.
    first_pause_s: the wait before a crashed program starts again; doubles up to 30 s.
    give_up_after: crashes in a row, before everything was up once, that end the run.
    """

    def __init__(
        self,
        listed: list[Program],
        *,
        data_dir: Path,
        say: Callable[[str], None],
        first_pause_s: float = 0.5,
        give_up_after: int = 4,
    ) -> None:
        self.children = [Child(program) for program in listed]
        self.data_dir = data_dir
        self.say = say
        self.first_pause_s = first_pause_s
        self.give_up_after = give_up_after
        self.asked_at: float | None = None
        self.hasty = False
        self.settled = False
        self.failed = False
        self.parent: int | None = None

    def listen(self, *, stop_with_parent: bool = False) -> None:
        """Take over the signals; with `stop_with_parent`, end when the parent process does."""
        programs.adopt_orphans()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            if number != signal.SIGHUP or signal.getsignal(number) is not signal.SIG_IGN:
                signal.signal(number, self._asked)
        self.parent = os.getppid() if stop_with_parent else None

    def _asked(self, _number: int, _frame: FrameType | None) -> None:
        self.ask_to_stop()

    def ask_to_stop(self) -> None:
        """Begin to stop. Terminal and shell may both ask at once; only a later call hurries."""
        now = time.monotonic()
        if self.asked_at is None:
            self.asked_at = now
        elif now - self.asked_at > HASTE_AFTER_S:
            self.hasty = True

    @property
    def stopping(self) -> bool:
        if self.parent is not None and os.getppid() != self.parent:
            self.ask_to_stop()
            self.parent = None
        return self.asked_at is not None or self.failed

    def log_path(self, name: str) -> Path:
        return self.data_dir / "log" / f"{name}.log"

    def start_stage(self, stage: int) -> None:
        for child in self.children:
            if child.program.stage == stage and child.popen is None:
                self._start(child)

    def tick(self) -> None:
        """One round: notice what ended, start what is due."""
        for child in self.children:
            if child.popen is None:
                if child.start_at <= time.monotonic():
                    self._start(child)
            elif child.popen.poll() is not None:
                self._crashed(child)
        programs.reap_orphans([child.popen.pid for child in self.children if child.popen])

    def _start(self, child: Child) -> None:
        path = self.log_path(child.program.name)
        environment = {**child.program.environment, programs.MARK: str(self.data_dir)}
        marked = Program(**{**vars(child.program), "environment": environment})
        child.popen = programs.start(marked, output=path)
        child.started_at = time.monotonic()

    def _crashed(self, child: Child) -> None:
        popen, name = child.popen, child.program.name
        if popen is None:
            return
        programs.signal_group(popen.pid, signal.SIGKILL)
        lived_s = time.monotonic() - child.started_at
        child.crashes = 1 if lived_s > STEADY_AFTER_S else child.crashes + 1
        pause_s = min(LONGEST_PAUSE_S, self.first_pause_s * 2 ** (child.crashes - 1))
        child.popen, child.start_at = None, time.monotonic() + pause_s
        self.say(f"{name} ended ({_reason(popen.returncode)}); starting it again.")
        if not self.settled and child.crashes >= self.give_up_after:
            self.failed = True
            self.say(f"{name} does not start. Its last words ({self.log_path(name)}):")
            self.say(self.last_words(name))

    def last_words(self, name: str, lines: int = 15) -> str:
        path = self.log_path(name)
        text = path.read_text(encoding="utf-8", errors="replace") if path.exists() else ""
        return "\n".join(text.splitlines()[-lines:])

    def trim_logs(self) -> None:
        """Keep one older part of each log. The writers append, so the file can be emptied."""
        for child in self.children:
            path = self.log_path(child.program.name)
            if path.exists() and path.stat().st_size > LOG_LIMIT_BYTES:
                shutil.copyfile(path, path.with_suffix(".1.log"))
                os.truncate(path, 0)

    def run(self, *, every: Callable[[], None] | None = None, pause_s: float = 0.1) -> None:
        """Watch over the programs until told to stop; `every` is called in each round."""
        trimmed_at = time.monotonic()
        while not self.stopping:
            self.tick()
            if every is not None:
                every()
            if time.monotonic() - trimmed_at > 60:
                self.trim_logs()
                trimmed_at = time.monotonic()
            time.sleep(pause_s)

    def stop(self) -> None:
        """Stop everything, the last stage first, then whatever else came out of it."""
        for stage in sorted({child.program.stage for child in self.children}, reverse=True):
            self._stop_stage([child for child in self.children if child.program.stage == stage])
        programs.stop_leftovers(lambda: programs.descendants(os.getpid()), patience_s=2)

    def _stop_stage(self, children: list[Child]) -> None:
        running = [(child, child.popen) for child in children if child.popen is not None]
        for _child, popen in running:
            popen.terminate()
        begun = time.monotonic()
        for child, popen in running:
            while popen.poll() is None and not self.hasty:
                if time.monotonic() - begun > child.program.patience_s:
                    break
                time.sleep(0.02)
            programs.signal_group(popen.pid, signal.SIGKILL)
            popen.wait()
            child.popen = None


def _reason(code: int) -> str:
    if code < 0:
        return f"killed by {signal.Signals(-code).name}"
    return f"exit code {code}"
