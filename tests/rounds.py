"""`make test`: the suite on SQLite, then on PostgreSQL with a Redis-protocol server.

usage: python -m tests.rounds [sqlite|servers|long|long-servers]... [pytest arguments]

Rounds on servers leave out tests marked `once`: they say nothing about the database. What takes
long, most journeys in the browser among it, is left to `make test-long`: each of them runs once,
on SQLite where the database does not matter, on the servers where it does.
"""

import os
import subprocess
import sys
import time
from contextlib import ExitStack
from itertools import takewhile

from tests import services

LONG = "not soak and (long or e2e and not core)"
SHORT = "not soak and not long and not (e2e and not core)"
# Name: its marks, and what is said of it.
ROUNDS = {
    "sqlite": (SHORT, "SQLite"),
    "servers": (f"{SHORT} and not once", "PostgreSQL and a Redis-protocol server"),
    "long": (f"{LONG} and once", "What takes long, SQLite"),
    "long-servers": (f"{LONG} and not once", "What takes long, on the servers"),
}
SHORT_ROUNDS = ("sqlite", "servers")
# What a person has set for their own portal must not reach the tests.
OURS = {
    "DATABASE_URL", "REDIS_URL", "DATA_DIR", "PORT", "EMAIL_URL", "PUBLIC_URL",
    "SECRET_KEY", "PORTAL_MODE", "PORTAL_DEMO", "STORAGE_URL", "STATIC_ROOT",
}  # fmt: skip


def browser_note() -> tuple[str, bool]:
    """What is said about Chromium, and whether that ends the run."""
    if found := services.find_chromium():
        return f"Browser: {found}", False
    note = (
        "No Chromium on the PATH, nor one that Playwright downloaded (playwright install chromium)."
    )
    if services.REQUIRED:
        return f"{note} REQUIRE_SERVICES=1 does not allow that.", True
    return f"{note} Left out: every test marked e2e.", False


def run_pytest(marks: str, environment: dict[str, str], arguments: list[str]) -> int:
    kept = {k: v for k, v in os.environ.items() if k not in OURS}
    workers = os.environ.get("TEST_WORKERS", "2")
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-n",
        workers,
        "--dist",
        "loadfile",
        "-m",
        marks,
        *arguments,
    ]
    begun = time.monotonic()
    code = subprocess.run(command, env={**kept, **environment}, check=False).returncode
    print(f"({time.monotonic() - begun:.0f} s, exit code {code})", flush=True)
    return code


def with_servers(marks: str, arguments: list[str]) -> int:
    """On the servers named in the environment; what is not named is started from its wheel."""
    with ExitStack() as stack:
        named = {name: os.environ.get(name, "") for name in ("DATABASE_URL", "REDIS_URL")}
        database = named["DATABASE_URL"] or stack.enter_context(services.postgres())
        queue = named["REDIS_URL"] or stack.enter_context(services.valkey())
        origin = " and ".join(
            f"{k}: {'given' if v else 'from its wheel'}" for k, v in named.items()
        )
        print(origin, flush=True)
        return run_pytest(marks, {"DATABASE_URL": database, "REDIS_URL": queue}, arguments)


def run_round(name: str, arguments: list[str]) -> int:
    marks, title = ROUNDS[name]
    print(f"== {title} (tests: {marks})", flush=True)
    if name.endswith("servers"):
        return with_servers(marks, arguments)
    return run_pytest(marks, {}, arguments)


def main(arguments: list[str]) -> int:
    chosen = list(takewhile(lambda word: word in ROUNDS, arguments))
    arguments = arguments[len(chosen) :]
    note, ends = browser_note()
    print(note, flush=True)
    if ends:
        return 1
    failed = [name for name in chosen or SHORT_ROUNDS if run_round(name, arguments)]
    print(f"Failed: {', '.join(failed)}" if failed else "All rounds passed.", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
