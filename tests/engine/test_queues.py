"""Where work waits: an hour of film must never hold up a mail."""

import pytest
from django.conf import settings
from django.db import transaction
from kombu.exceptions import OperationalError

from portal.celery import app
from portal.serving import Plan, listed

pytestmark = pytest.mark.once


@pytest.fixture(autouse=True)
def known_tasks():
    """Every app's tasks; finding them sets up logging anew, so it comes before a test's own."""
    app.loader.import_default_modules()


def queue_of(name):
    task = app.tasks[name]
    return app.amqp.router.route({}, name, task_type=task)["queue"].name


@pytest.mark.parametrize(
    ("task", "queue"),
    [
        ("film.prepare", "media"),
        ("film.fetch", "fetch"),
        ("feedback.cut_clip", "clips"),
        ("talkthrough.write_down", "speech"),
        ("talkthrough.write_waiting", "mail"),
        ("core.send_message", "mail"),
        ("digests.build", "mail"),
        ("film.sweep", "mail"),
    ],
)
def test_each_task_waits_in_its_queue(task, queue):
    assert queue_of(task) == queue


def test_every_tick_is_a_task_and_expires_before_the_next():
    for entry in settings.CELERY_BEAT_SCHEDULE.values():
        assert entry["task"] in app.tasks
        assert entry["options"]["expires"] <= entry["schedule"].total_seconds()


def test_every_queue_is_listened_to_and_films_by_a_worker_of_their_own(tmp_path):
    plan = Plan(tmp_path, tmp_path / "data", "127.0.0.1", 8000, own_broker=True)
    workers = {p.name: p for p in listed(plan) if "worker" in p.name}
    queues = {
        name: set(p.command[p.command.index("--queues") + 1].split(","))
        for name, p in workers.items()
    }
    assert set().union(*queues.values()) == set(settings.WORKER_QUEUES)
    assert queues["worker-media"] == {"media"}
    media = workers["worker-media"]
    assert media.command[media.command.index("--concurrency") + 1] == "1"
    assert media.niceness > 0


def test_the_broker_is_ours_only_where_no_other_is_named(tmp_path):
    for own in (True, False):
        plan = Plan(tmp_path, tmp_path / "data", "127.0.0.1", 8000, own_broker=own)
        assert ("broker" in {p.name for p in listed(plan)}) is own


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_away_does_not_break_a_page(monkeypatch, caplog):
    """The row is saved and the sweeper will find it; the request must not end in an error."""
    rung = []

    def unreachable(row_id):
        rung.append(row_id)
        raise OperationalError("nobody listens")

    task = app.tasks["core.sweep_outbox"]
    monkeypatch.setattr(task, "delay", unreachable)
    with transaction.atomic():
        task.delay_on_commit("1")
        task.delay_on_commit("2")
        assert rung == []
    assert rung == ["1", "2"]
    assert [record.levelname for record in caplog.records] == ["WARNING"]
