import logging
import os
import time
from typing import Any

from celery import Celery
from celery.contrib.django.task import DjangoTask
from celery.signals import heartbeat_sent, worker_ready
from kombu.exceptions import OperationalError

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

logger = logging.getLogger(__name__)

SEEN_EVERY_S = 5
SEEN_FOR_S = 20


class PortalTask(DjangoTask):
    """A task whose row is already saved: a broker that is away costs time, never the page."""

    abstract = True

    def delay_on_commit(self, *args: Any, **kwargs: Any) -> None:
        from django.db import transaction

        def ring() -> None:
            try:
                self.delay(*args, **kwargs)
            except OperationalError as error:
                outage.begin(error)
            else:
                outage.end()

        transaction.on_commit(ring, robust=True)


class Outage:
    """Tells of a broker that is away once, not for every row that waits meanwhile."""

    told = False

    def begin(self, error: Exception) -> None:
        if not self.told:
            logger.warning("The queue is away (%s); what waits is found by the next tick.", error)
        self.told = True

    def end(self) -> None:
        self.told = False


outage = Outage()


class Attendance:
    """Notes for /healthz which queues have a living worker, from the worker's own heartbeat."""

    def __init__(self) -> None:
        self.queues: list[str] = []
        self.noted_at = 0.0

    def begin(self, sender: Any, **_kwargs: Any) -> None:
        self.queues = [queue.name for queue in sender.task_consumer.queues]
        self.noted_at = 0.0
        self.note()

    def note(self, **_kwargs: Any) -> None:
        from django.core.cache import cache

        if not self.queues or time.monotonic() - self.noted_at < SEEN_EVERY_S:
            return
        self.noted_at = time.monotonic()
        cache.set_many({f"worker:{name}": True for name in self.queues}, SEEN_FOR_S)


attendance = Attendance()
worker_ready.connect(attendance.begin)
heartbeat_sent.connect(attendance.note)

app = Celery("portal", task_cls=PortalTask)
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
