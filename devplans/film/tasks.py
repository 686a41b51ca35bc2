from uuid import UUID

from celery import shared_task

from devplans.film import services


# Acknowledged at once: a long film outlasts the broker's patience; the row's lease is the truth.
@shared_task(name="film.prepare", acks_late=False)
def prepare(film_id: str) -> bool:
    return services.prepare_film(film_id=UUID(film_id))


@shared_task(name="film.sweep")
def sweep() -> int:
    return len(services.sweep())
