from celery import shared_task
from django.utils import timezone

from devplans.goals import services


@shared_task(name="goals.write_reviews")
def write_reviews() -> int:
    """Hourly: a review is written in the first hour of its day on the club's clock."""
    return services.write_due_reviews(now=timezone.now())
