import shutil
import signal
import stat
import subprocess
import sys

import pytest
import redis
from kombu import Connection

from portal import broker, programs

pytestmark = [pytest.mark.once, pytest.mark.long]


@pytest.fixture
def start_broker(tmp_path):
    """Start the embedded broker of a folder; every one is stopped afterwards."""
    started, places = [], set()

    def start(data_dir):
        path = broker.socket_path(data_dir)
        places.add(path.parent)
        started.append(programs.start(broker.program(data_dir), output=tmp_path / "broker.log"))
        assert broker.wait_until_up(path), (tmp_path / "broker.log").read_text()
        return started[-1]

    yield start
    for popen in started:
        popen.kill()
        popen.wait()
    for place in places:
        shutil.rmtree(place)


def queue_length(data_dir):
    return broker.client(broker.socket_path(data_dir)).llen("mail")


@pytest.mark.parametrize("name", ["plain", "a folder with spaces", "deep/" + "long-name-" * 20])
def test_celery_and_cache_reach_it_in_any_folder(start_broker, tmp_path, name):
    data_dir = tmp_path / name
    start_broker(data_dir)
    with Connection(broker.queue_url(data_dir)) as connection:
        connection.SimpleQueue("mail").put("a letter")
    cache_url = broker.queue_url(data_dir).replace("redis+socket://", "unix://")
    assert redis.Redis.from_url(cache_url).llen("mail") == 1


def test_only_its_owner_reaches_it(start_broker, tmp_path):
    start_broker(tmp_path)
    path = broker.socket_path(tmp_path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o700
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert broker.client(path).config_get("port") == {"port": "0"}


def test_it_keeps_the_queue_and_never_drops_from_it(start_broker, tmp_path):
    start_broker(tmp_path)
    client = broker.client(broker.socket_path(tmp_path))
    kept = client.config_get("appendonly", "appendfsync", "maxmemory-policy", "save")
    assert kept == {
        "appendonly": "yes",
        "appendfsync": "everysec",
        "maxmemory-policy": "noeviction",
        "save": "",
    }


def test_the_queue_outlives_a_kill(start_broker, tmp_path):
    first = start_broker(tmp_path)
    client = broker.client(broker.socket_path(tmp_path))
    client.rpush("mail", "a letter")
    first.send_signal(signal.SIGKILL)
    first.wait()
    start_broker(tmp_path)
    assert queue_length(tmp_path) == 1


def test_an_orphan_is_stopped_with_its_queue_kept_before_the_next_one(start_broker, tmp_path):
    orphan = start_broker(tmp_path)
    path = broker.socket_path(tmp_path)
    broker.client(path).rpush("mail", "a letter")
    broker.clear(path)
    assert orphan.wait(timeout=10) == 0
    assert not path.exists()
    start_broker(tmp_path)
    assert queue_length(tmp_path) == 1


def test_a_dead_socket_is_removed(tmp_path):
    path = tmp_path / "valkey.sock"
    code = f"import socket; s = socket.socket(socket.AF_UNIX); s.bind({str(path)!r})"
    subprocess.run([sys.executable, "-c", code], check=True)
    assert path.exists()
    broker.clear(path)
    assert not path.exists()
