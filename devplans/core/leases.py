"""Work on a row that may outlive its worker: a lease on the row says whose it is."""

import time
from datetime import timedelta
from typing import Any, ClassVar, Self
from uuid import UUID, uuid4

from django.db.models import F, Model, QuerySet
from django.utils import timezone


class LeaseLost(Exception):
    """Somebody else works on this row now, or it was stopped or deleted."""


class Lease:
    """A row that this call works on, for as long as it says so in time.

    Its `model` has lease_until, lease_token and attempts, and is in `state` meanwhile.
    """

    model: ClassVar[type[Model]]
    state: ClassVar[str]
    lasts: ClassVar[timedelta]

    def __init__(self, key: UUID, token: UUID) -> None:
        self.key, self.token = key, token
        self.noted_at = time.monotonic()

    @classmethod
    def claim(cls, free: QuerySet[Any], key: UUID, **fields: Any) -> Self | None:
        """Take the lease of a row if it is among the `free`; None where there is nothing to do."""
        now, token = timezone.now(), uuid4()
        held = {"state": cls.state, "lease_until": now + cls.lasts, "lease_token": token}
        counted = {"attempts": F("attempts") + 1, "updated_at": now}
        taken = free.filter(pk=key).update(**held, **counted, **fields)
        return cls(key, token) if taken else None

    def write(self, **fields: Any) -> None:
        """Change the row, if the lease is still ours; raises LeaseLost."""
        rows = self.model._default_manager.filter(pk=self.key, state=self.state)
        if not rows.filter(lease_token=self.token).update(updated_at=timezone.now(), **fields):
            raise LeaseLost

    def keep(self, **fields: Any) -> None:
        self.write(lease_until=timezone.now() + self.lasts, **fields)

    def keep_up(self, every_s: float, **fields: Any) -> None:
        """As `keep`, at most once in so many seconds."""
        if time.monotonic() - self.noted_at >= every_s:
            self.noted_at = time.monotonic()
            self.keep(**fields)

    def end(self, **fields: Any) -> None:
        self.write(lease_until=None, lease_token=None, **fields)
