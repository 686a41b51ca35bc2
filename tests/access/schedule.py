from datetime import timedelta
from typing import Any

from django.utils import timezone

from devplans.core.ids import uuid7
from devplans.schedule.models import Event
from tests.access import row


def things(cast: Any) -> None:
    starts_at = timezone.now() + timedelta(days=3)
    ends_at = starts_at + timedelta(hours=1)
    cast.event = Event.objects.create(
        squad=cast.squad, kind="practice", starts_at=starts_at, ends_at=ends_at, series=uuid7()
    )
    cast.cancelled_event = Event.objects.create(
        squad=cast.squad, kind="game", starts_at=starts_at, ends_at=ends_at, cancelled_at=starts_at
    )


FORM = {"kind": "practice", "day": "2027-06-03", "starts": "17:30", "ends": "19:00"}

#                   anon strg play mate guar coac othr dire welf exgu outs
OWN_CALENDAR = "    302  200  200  200  200  200  200  200  200  200  200"
SQUAD_CALENDAR = "  302  404  200  200  200  200  404  200  200  404  404"
KEEPERS_PAGE = "    302  404  403  403  403  200  404  200  403  404  404"
KEEPERS_WRITE = "   302  404  403  403  403  302  404  302  403  404  404"
READ_API = "        403  200  200  200  200  200  200  200  200  200  200"

SQUAD, EVENT = {"squad_id": "squad"}, {"event_id": "event"}

ROWS = [
    row("get", "schedule:calendar", {}, OWN_CALENDAR),
    row("get", "schedule:calendar", SQUAD, SQUAD_CALENDAR),
    row("get", "schedule:event-add", SQUAD, KEEPERS_PAGE),
    row("post", "schedule:event-add", SQUAD, KEEPERS_WRITE, body=FORM),
    row("post", "schedule:event-add", SQUAD, KEEPERS_WRITE, body={**FORM, "until": "2027-07-01"}),
    row("get", "schedule:event-edit", EVENT, KEEPERS_PAGE),
    row("post", "schedule:event-edit", EVENT, KEEPERS_WRITE, body=FORM),
    row("post", "schedule:event-cancel", EVENT, KEEPERS_WRITE, body={"scope": "later"}),
    row("post", "schedule:event-restore", {"event_id": "cancelled_event"}, KEEPERS_WRITE),
    row("get", "api-events", {}, READ_API),
    row("get", "api-events", {}, READ_API, query=lambda cast: f"squad={cast.squad.pk}"),
]
