from uuid import UUID

from celery import shared_task

from devplans.feedback import cutting, orphans
from devplans.feedback.cliplists import cutting as list_cutting


@shared_task(name="feedback.cut_clip", acks_late=True, reject_on_worker_lost=True)
def cut_clip(clip_id: str) -> bool:
    return cutting.cut_clip(UUID(clip_id))


@shared_task(name="feedback.cut_list_clip", acks_late=True, reject_on_worker_lost=True)
def cut_list_clip(clip_id: str) -> bool:
    return list_cutting.cut(UUID(clip_id))


@shared_task(name="feedback.cut_waiting")
def cut_waiting() -> int:
    """Ring again for clips that wait: lost doorbells, crashed workers, faults that may pass."""
    due = cutting.due_ids()
    for clip_id in due:
        cut_clip.delay(str(clip_id))
    of_lists = list_cutting.sweep()
    for clip_id in of_lists:
        cut_list_clip.delay(str(clip_id))
    return len(due) + len(of_lists)


@shared_task(name="feedback.sweep_files")
def sweep_files() -> int:
    return orphans.sweep_files()
