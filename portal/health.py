"""/healthz: does everything that the portal needs answer? Cheap enough to ask every second."""

import redis
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe


def database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            return cursor.fetchone() == (1,)
    except DatabaseError:
        return False


def queue_answers() -> bool:
    try:
        with redis.Redis.from_url(
            settings.CACHE_URL, socket_timeout=2, socket_connect_timeout=2
        ) as client:
            return bool(client.ping())
    except (redis.RedisError, OSError):
        return False


def worker_answers() -> bool:
    """Has every queue been listened to within the last seconds?"""
    keys = [f"worker:{name}" for name in settings.WORKER_QUEUES]
    try:
        return len(cache.get_many(keys)) == len(keys)
    except (redis.RedisError, OSError):
        return False


@login_not_required
@require_safe
def healthz(_request: HttpRequest) -> JsonResponse:
    """200 when web, database, queue and worker answer; else 503, each part "ok" or "down"."""
    parts = {
        "web": True,
        "database": database_answers(),
        "queue": queue_answers(),
        "worker": worker_answers(),
    }
    told = {name: "ok" if answers else "down" for name, answers in parts.items()}
    return JsonResponse(told, status=200 if all(parts.values()) else 503)
