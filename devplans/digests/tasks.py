from uuid import UUID

from celery import shared_task
from django.utils import timezone

from devplans.digests import services


@shared_task(name="digests.plan_due")
def plan_due() -> int:
    """The tick: the task knows who is due, the schedule does not."""
    services.forget_links()
    return services.plan_due(now=timezone.now())


@shared_task(name="digests.build", acks_late=True, reject_on_worker_lost=True)
def build(digest_id: str) -> bool:
    return services.build_digest(digest_id=UUID(digest_id))
