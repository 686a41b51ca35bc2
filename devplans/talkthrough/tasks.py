from uuid import UUID

from celery import shared_task

from devplans.talkthrough import hearing, sweeping, writing
from devplans.talkthrough.services import transcripts


# Acknowledged at once: a long talk outlasts the broker's patience; the row's lease is the truth.
@shared_task(name="talkthrough.write_down", acks_late=False)
def write_down(talk_id: str) -> bool:
    """Rung for one talk; written down is the one whose turn it is."""
    return writing.write_next()


@shared_task(name="talkthrough.hear_so_far", acks_late=False)
def hear_so_far(take_id: str) -> bool:
    """What is being recorded just now, for the page of who talks."""
    return hearing.hear_so_far(UUID(take_id))


@shared_task(name="talkthrough.write_waiting")
def write_waiting() -> int:
    """Ring again for talks that wait: lost doorbells, crashed workers, faults that may pass."""
    due = writing.due_ids()
    for talk_id in due:
        write_down.delay(str(talk_id))
    return len(due)


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


@shared_task(name="talkthrough.sweep_files")
def sweep_files() -> int:
    return sweeping.sweep_files()
