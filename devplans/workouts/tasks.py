from celery import shared_task

from devplans.workouts.weeks import rebuilding


@shared_task(name="workouts.rebuild_weeks")
def rebuild_weeks() -> int:
    """How many rows differed from what was logged."""
    return rebuilding.rebuild().differed
