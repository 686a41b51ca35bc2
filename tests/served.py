"""`manage.py serve` as a process beside the tests, on a folder and a port of its own."""

import http.client
import json
import os
import subprocess
import sys
import time
from pathlib import Path

from portal import programs

ROOT = Path(__file__).resolve().parents[1]
DEMO_PASSWORD = "scorebook-demo"
DEMO_ROLES = ("coach", "player", "guardian", "director", "outsider")


def wait_for(condition, *, seconds=60):
    deadline = time.monotonic() + seconds
    while not (result := condition()):
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.1)
    return result


class Portal:
    """Started as a person starts it, with nothing of this process's own settings."""

    def __init__(self, data_dir, port, **more):
        self.data_dir, self.port = data_dir, port
        self.address = f"http://127.0.0.1:{port}"
        self.output = data_dir.parent / "output.txt"
        kept = ("PATH", "HOME", "LANG", "TMPDIR")
        self.environment = {name: os.environ[name] for name in kept if name in os.environ}
        self.environment |= {"DATA_DIR": str(data_dir), "PORT": str(port), **more}
        self.popen = None

    def command(self, *words):
        """Run one management command to its end."""
        full = [sys.executable, "manage.py", *words]
        subprocess.run(full, cwd=ROOT, env=self.environment, check=True)

    def load_demo(self):
        self.environment["PORTAL_DEMO"] = "1"
        for name in ("migrate", "sync_catalogue", "load_demo"):
            self.command(name, "--verbosity", "0")
        return self

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
        return self.output.read_text() if self.output.exists() else ""

    def until_ready(self):
        wait_for(lambda: "Ready: " in self.said() or self.popen.poll() is not None)
        assert f"Ready: {self.address}/" in self.said(), self.said()
        return self

    def running(self):
        """Every process that belongs to this portal, but its supervisor."""
        return programs.marked(str(self.data_dir))

    def named(self, word):
        found = {}
        for pid in self.running():
            path = Path(f"/proc/{pid}/cmdline")
            words = path.read_bytes().decode().split("\0") if path.exists() else []
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

    def stop(self):
        """Stop it as Ctrl-C does, by force if that does not help."""
        if self.popen is not None and self.popen.poll() is None:
            self.popen.terminate()
            try:
                self.popen.wait(timeout=30)
            except subprocess.TimeoutExpired:
                self.popen.kill()
                self.popen.wait()
        programs.stop_leftovers(self.running)
