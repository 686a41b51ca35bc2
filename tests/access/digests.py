from typing import Any

from django.utils import timezone

from devplans.digests import links, services
from devplans.digests.models import Digest
from devplans.stats import weeks
from tests.access import row


def things(cast: Any) -> None:
    week = weeks.last_complete_week(timezone.now(), cast.club.zone)
    for pk in services.plan_week(club=cast.club, week=week):
        services.build_digest(digest_id=pk)
    cast.guardian_digest = Digest.objects.get(kind="guardian", recipient=cast.guardian)
    cast.unsubscribe_token = links.unsubscribe_url(cast.guardian).rstrip("/").split("/")[-1]


def someone(cast: Any) -> str:
    return f"to=guardian.{cast.guardian.pk.hex}.{cast.guardian.pk.hex}"


TOKEN = {"token": "unsubscribe_token"}
DIGEST = {"digest_id": "guardian_digest"}
ITS_READERS = {"*": 404, "anon": 302, "guardian": 200, "director": 200}

ROWS = [
    row("get", "digests:archive", {}, {"*": 200, "anon": 302}),
    row("get", "digests:preview", {}, {"*": 404, "anon": 302, "director": 200}),
    row(
        "get", "digests:preview-letter", {}, {"*": 404, "anon": 302, "director": 200}, query=someone
    ),
    row("get", "digests:page", DIGEST, ITS_READERS),
    row("get", "digests:letter", DIGEST, ITS_READERS),
    row("get", "digests:unsubscribe", TOKEN, {"*": 200}),
    row("post", "digests:unsubscribe", TOKEN, {"*": 200}),
]
