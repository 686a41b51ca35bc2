"""`make test`: the suite on SQLite, then on PostgreSQL with a Redis-protocol server.

usage: python -m tests.rounds [sqlite|servers] [pytest arguments]

The second round leaves out tests marked `once`: they say nothing about the database.
"""

import os
import subprocess
import sys
import time
from contextlib import ExitStack

from tests import services

ROUNDS = ("sqlite", "servers")
SQLITE_MARKS = "not soak"
# What a person has set for their own portal must not reach the tests.
OURS = {
    "DATABASE_URL", "REDIS_URL", "DATA_DIR", "PORT", "EMAIL_URL", "PUBLIC_URL",
    "SECRET_KEY", "PORTAL_MODE", "PORTAL_DEMO", "STORAGE_URL", "STATIC_ROOT",
}  # fmt: skip
SERVER_MARKS = "not soak and not once"


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


def sqlite_round(arguments: list[str]) -> int:
    print("== Round 1: SQLite", flush=True)
    return run_pytest(SQLITE_MARKS, {}, arguments)


def servers_round(arguments: list[str]) -> int:
    """On the servers named in the environment; what is not named is started from its wheel."""
    with ExitStack() as stack:
        named = {name: os.environ.get(name, "") for name in ("DATABASE_URL", "REDIS_URL")}
        database = named["DATABASE_URL"] or stack.enter_context(services.postgres())
        queue = named["REDIS_URL"] or stack.enter_context(services.valkey())
        origin = " and ".join(
            f"{k}: {'given' if v else 'from its wheel'}" for k, v in named.items()
        )
        print(f"== Round 2: PostgreSQL and a Redis-protocol server ({origin})", flush=True)
        print("Left out here, as round 1 covers them: tests marked once.", flush=True)
        return run_pytest(SERVER_MARKS, {"DATABASE_URL": database, "REDIS_URL": queue}, arguments)


def main(arguments: list[str]) -> int:
    chosen = ROUNDS
    if arguments and arguments[0] in ROUNDS:
        chosen, arguments = (arguments[0],), arguments[1:]
    note, ends = browser_note()
    print(note, flush=True)
    if ends:
        return 1
    runs = {"sqlite": sqlite_round, "servers": servers_round}
    codes = {name: runs[name](arguments) for name in chosen}
    failed = [name for name, code in codes.items() if code]
    print(f"Failed: {', '.join(failed)}" if failed else "All rounds passed.", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
