from celery import shared_task

from devplans.tallies import rebuilding


@shared_task(name="tallies.rebuild_weeks")
def rebuild_weeks() -> int:
    return rebuilding.rebuild()
