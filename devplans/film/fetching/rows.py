from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import Q

from devplans.core.models import Row


class FetchQuerySet(models.QuerySet["Fetch"]):
    def running(self) -> "FetchQuerySet":
        """Begun and not ended: fetching, or waiting to go on."""
        return self.filter(ended_at=None)

    def ended(self) -> "FetchQuerySet":
        """Stopped or failed: those that may begin anew, from the address they still have."""
        return self.filter(ended_at__isnull=False).exclude(address="")

    def of_film(self, film: Any) -> "FetchQuerySet":
        return self.filter(film=film)

    def claimable(self, now: datetime) -> "FetchQuerySet":
        """Those to go on with now: never begun, due again, or nobody keeps up their lease."""
        return self.running().filter(Q(lease_until=None) | Q(lease_until__lt=now))


class Fetch(Row):
    """A film that the portal fetches from an https address. While it runs, its film waits.

    `address` may hold a secret, so only `host` is shown or logged; it is emptied when the film is
    there. `handle` is what the store of parts calls the part. `validator` is the ETag or date by
    which the server knows the same file again; without one a broken fetch begins anew. `attempts`
    counts those since something new was brought; `most_bytes` is the farthest any of them came.
    """

    film = models.OneToOneField("film.Film", on_delete=models.CASCADE, related_name="fetch")
    address = models.CharField(max_length=2100, blank=True)
    host = models.CharField(max_length=300)
    handle = models.CharField(max_length=1200, blank=True)
    validator = models.CharField(max_length=300, blank=True)
    total_bytes = models.PositiveBigIntegerField(null=True)
    got_bytes = models.PositiveBigIntegerField(default=0)
    most_bytes = models.PositiveBigIntegerField(default=0)
    lease_until = models.DateTimeField(null=True)
    lease_token = models.UUIDField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    ended_at = models.DateTimeField(null=True)

    objects: Any = FetchQuerySet.as_manager()

    def __str__(self) -> str:
        return f"from {self.host}"

    @property
    def is_running(self) -> bool:
        return self.ended_at is None
