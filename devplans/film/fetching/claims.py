"""Who fetches a film now: a lease on its row, as for preparing. The queue is only a doorbell."""

import time
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from devplans.film.fetching.rows import Fetch
from devplans.film.models import Film

# Longer than the longest silence that a server is granted.
LEASE = timedelta(seconds=180)
NOTE_EVERY_S = 1.0
# So much more than ever before, and an attempt was not in vain.
WORTHWHILE_BYTES = 1024 * 1024
MOST_WHILE_FETCHING = 0.99


class LeaseLost(Exception):
    """Somebody else fetches this film now, or it was stopped or deleted."""


class Claim:
    """A fetch that this call carries on, for as long as it says so in time."""

    def __init__(self, fetch: Fetch) -> None:
        self.fetch = fetch
        self.noted_at = 0.0

    def write(self, **fields: Any) -> None:
        """Change the row, if the lease is still ours; raises LeaseLost."""
        mine = Fetch.objects.running().filter(
            pk=self.fetch.pk, lease_token=self.fetch.lease_token, film__state=Film.State.WAITING
        )
        if not mine.update(updated_at=timezone.now(), **fields):
            raise LeaseLost
        for name, value in fields.items():
            setattr(self.fetch, name, value)

    def progress(self, got_bytes: int, *, at_once: bool = False) -> None:
        """Note how many bytes are there, and keep the lease up; at most once a second."""
        now = time.monotonic()
        if now - self.noted_at < NOTE_EVERY_S and not at_once:
            return
        self.noted_at = now
        fields: dict[str, Any] = {"got_bytes": got_bytes, "lease_until": timezone.now() + LEASE}
        if got_bytes >= self.fetch.most_bytes + WORTHWHILE_BYTES:
            fields |= {"most_bytes": got_bytes, "attempts": 1}
        self.write(**fields)
        total = self.fetch.total_bytes
        share = min(got_bytes / total, MOST_WHILE_FETCHING) if total else 0
        Film.objects.filter(pk=self.fetch.film_id).update(progress=share, problem="")

    def end(self, film_fields: dict[str, Any], **fields: Any) -> None:
        """The fetch is over; its film gets `film_fields` in the same moment."""
        with transaction.atomic():
            self.write(ended_at=timezone.now(), lease_until=None, **fields)
            Film.objects.filter(pk=self.fetch.film_id).update(
                updated_at=timezone.now(), **film_fields
            )


def claim(fetch_id: UUID) -> Claim | None:
    """Take the lease of a fetch that may go on now; None where there is nothing to do."""
    now, token = timezone.now(), uuid4()
    taken = (
        Fetch.objects.claimable(now)
        .filter(pk=fetch_id)
        .update(lease_until=now + LEASE, lease_token=token, attempts=F("attempts") + 1)
    )
    if not taken:
        return None
    rows = Fetch.objects.select_related("film__squad__season__club", "film__uploaded_by")
    return Claim(rows.get(pk=fetch_id))
