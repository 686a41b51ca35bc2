from uuid import UUID

from celery import shared_task

from devplans.core import outbox


@shared_task(name="core.send_message", acks_late=True, reject_on_worker_lost=True)
def send_message(message_id: str) -> bool:
    return outbox.send_message(message_id=UUID(message_id))


@shared_task(name="core.sweep_outbox")
def sweep_outbox() -> int:
    """Ring again for what is due and was not sent: lost doorbells, crashed workers, quiet hours
    that ended."""
    due = outbox.due_ids()
    for message_id in due:
        send_message.delay(str(message_id))
    return len(due)
