"""What the tests of the phone's side share."""

from types import SimpleNamespace
from typing import Any
from uuid import uuid4

from django.test import Client

from devplans.core.models import AuditEntry
from devplans.workouts.models import Shot, Workout, WorkoutSet
from tests import factories as make

STARTED = "2026-11-20T17:30:00Z"
DRILL = "five-spot-shooting"


def body(player: Any, **changes: Any) -> dict[str, Any]:
    sent = {"player": str(player.pk), "revision": 1, "started_at": STARTED, "minutes": 45}
    rest = {"effort": 6, "kind": "own", "pain": "", "note": "", "sets": [], "shots": []}
    return {**sent, **rest, **changes}


def one_set(drill: str = DRILL, **changes: Any) -> dict[str, Any]:
    counts = {"side": "none", "made": 7, "tried": 10, "reps": None, "seconds": None}
    return {"id": str(uuid4()), "drill": drill, **counts, **changes}


def one_shot(**changes: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "set": None, "x_mm": 2100, "y_mm": 6500, "made": True, **changes}


def url(key: Any) -> str:
    return f"/api/v1/workouts/{key}/"


def phone_of(cast: Any) -> SimpleNamespace:
    """The player's phone: `put`, `delete`, `get`, a fresh key, and a drill of the club."""
    client = Client()
    client.force_login(cast.player)
    drill = make.make_drill(slug=DRILL)
    key = uuid4()

    def put(content: Any = None, *, at: Any = key, client: Client = client, **changes: Any) -> Any:
        content = content if content is not None else body(cast.kid, **changes)
        return client.put(url(at), content, content_type="application/json")

    return SimpleNamespace(
        put=put,
        client=client,
        key=key,
        drill=drill,
        cast=cast,
        delete=lambda at=key: client.delete(url(at)),
        get=lambda at=key: client.get(url(at)),
    )


def everything() -> tuple[list[Any], int]:
    rows = [list(m.objects.order_by("pk").values_list()) for m in (Workout, WorkoutSet, Shot)]
    return rows, AuditEntry.objects.count()


def refused(answer: Any, status: int) -> Any:
    """The answer's words, after making sure that it stored nothing."""
    assert answer.status_code == status, answer.content
    assert Workout.objects.count() == WorkoutSet.objects.count() == Shot.objects.count() == 0
    return answer.json()
