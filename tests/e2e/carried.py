"""Somebody's own phone, of which the browser may die: what it has kept is on its disk."""

import os
import signal
from contextlib import suppress
from pathlib import Path

from playwright.sync_api import Error

from tests.e2e.people import SIZES, TELL_VIOLATIONS, Person
from tests.served import wait_for
from tests.services import SWITCHES


class Carried(Person):
    """As `Person`, in a browser of its own with a profile in `folder`."""

    def __init__(self, browser, chromium: str, address: str, folder: Path):
        self.address, self.faults, self.touched = address, [], {}
        self.expected: set[int] = set()
        self.folder, self.browser_type, self.chromium = folder, browser.browser_type, chromium
        self.kills = 0
        self.open()

    def open(self, *, offline: bool = False) -> None:
        self.context = self.browser_type.launch_persistent_context(
            self.folder,
            executable_path=self.chromium,
            args=SWITCHES,
            viewport=SIZES["phone"],
            base_url=self.address,
            has_touch=True,
            is_mobile=True,
            offline=offline,
        )
        self.context.add_init_script(TELL_VIOLATIONS)
        self.context.on("console", self._console)
        self.context.on("weberror", lambda error: self.faults.append(f"page: {error.error}"))
        self.context.on("response", self._response)
        self.page = self.context.pages[0]
        self.page.set_default_timeout(20_000)

    def put_away(self, *, offline: bool = False) -> None:
        """Closed as somebody closes it, and opened again."""
        self.context.close()
        self.open(offline=offline)

    def kill(self) -> None:
        """The browser with all of its processes, at once and without a word."""
        leader = self._leader()
        os.killpg(leader, signal.SIGKILL)
        wait_for(lambda: not _is_alive(leader))
        self.kills += 1
        with suppress(Error):
            self.context.close()

    def close(self) -> None:
        self.context.close()

    def _leader(self) -> int:
        """The browser's first process, which leads a group of its own."""
        mark = f"--user-data-dir={self.folder}"
        for path in Path("/proc").glob("[0-9]*/cmdline"):
            words = _words(path)
            if mark in words and not any(word.startswith("--type=") for word in words):
                pid = int(path.parent.name)
                assert os.getpgid(pid) == pid != os.getpgid(0)
                return pid
        raise AssertionError("no browser with this profile")


def _words(path: Path) -> list[str]:
    try:
        return path.read_bytes().decode(errors="replace").split("\0")
    except OSError:
        return []


def _is_alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except OSError:
        return False
