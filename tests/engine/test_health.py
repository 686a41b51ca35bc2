import json

import pytest
from django.core.cache import cache

from portal.celery import Attendance

pytestmark = pytest.mark.django_db


class Listening:
    """Stands for a worker's consumer that listens to `names`."""

    def __init__(self, *names):
        self.task_consumer = self
        self.queues = [type("Queue", (), {"name": name}) for name in names]


@pytest.fixture
def whole(settings, redis_url):
    """A portal in which everything answers."""
    settings.CACHE_URL = redis_url
    for names in (["mail", "clips"], ["media"], ["fetch", "speech"]):
        Attendance().begin(sender=Listening(*names))


def ask(client):
    answer = client.get("/healthz")
    return answer.status_code, json.loads(answer.content)


def test_everything_answers(client, whole):
    parts = {"web": "ok", "database": "ok", "queue": "ok", "worker": "ok"}
    assert ask(client) == (200, parts)


def test_a_worker_that_is_silent_is_named(client, whole):
    cache.delete("worker:media")
    status, parts = ask(client)
    assert status == 503
    assert [name for name, state in parts.items() if state != "ok"] == ["worker"]


def test_a_queue_that_is_away_is_named(client, whole, settings, tmp_path):
    settings.CACHE_URL = f"unix://{tmp_path}/nobody.sock"
    status, parts = ask(client)
    assert status == 503
    assert [name for name, state in parts.items() if state != "ok"] == ["queue"]


def test_a_database_that_is_away_is_named(client, whole, monkeypatch):
    from django.db import OperationalError, connection

    def refuse(*_args):
        raise OperationalError("gone")

    monkeypatch.setattr(connection, "cursor", refuse)
    status, parts = ask(client)
    assert status == 503
    assert [name for name, state in parts.items() if state != "ok"] == ["database"]


def test_the_answer_is_never_stored_and_tells_no_versions(client, whole):
    answer = client.get("/healthz")
    assert "no-store" in answer.headers["Cache-Control"]
    assert set(json.loads(answer.content)) == {"web", "database", "queue", "worker"}


def test_only_reading_is_allowed(client):
    assert client.post("/healthz").status_code == 405
