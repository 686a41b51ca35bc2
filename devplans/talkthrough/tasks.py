from uuid import UUID

from celery import shared_task

from devplans.talkthrough.services import sweeping, transcripts


@shared_task(name="talkthrough.understand", acks_late=True)
def understand(talk_id: str) -> bool:
    return transcripts.understand_now(talk_id=UUID(talk_id))


@shared_task(name="talkthrough.understand_waiting")
def understand_waiting() -> int:
    return transcripts.understand_waiting()


@shared_task(name="talkthrough.sweep_sound")
def sweep_sound() -> int:
    """Pages that died, sound that is not needed any more, files of deleted talks."""
    return sweeping.sweep()
