from uuid import UUID

from celery import shared_task

from devplans.film import services
from devplans.film.uploads.sweeping import sweep_uploads as clear_uploads


# Acknowledged at once: a long film outlasts the broker's patience; the row's lease is the truth.
@shared_task(name="film.prepare", acks_late=False)
def prepare(film_id: str) -> bool:
    """Rung for one film; prepared is the one whose turn it is."""
    return services.prepare_next_film()


# So may a film from a slow server.
@shared_task(name="film.fetch", acks_late=False)
def fetch(fetch_id: str) -> bool:
    return services.run_fetch(fetch_id=UUID(fetch_id))


@shared_task(name="film.sweep")
def sweep() -> int:
    return len(services.sweep()) + len(services.sweep_fetches())


@shared_task(name="film.sweep_uploads")
def sweep_uploads() -> int:
    return clear_uploads()
