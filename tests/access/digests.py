import re
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
    cast.open_secret = secret_in(cast.guardian_digest.message.text)
    cast.unsubscribe_token = links.unsubscribe_url(cast.guardian).rstrip("/").split("/")[-1]


def secret_in(text: str) -> str:
    """The secret of the address that opens the page, from the words of the mail."""
    return re.search(r"/digests/open/([\w-]+)/", text)[1]


def someone(cast: Any) -> str:
    return f"to=guardian.{cast.guardian.pk.hex}.{cast.guardian.pk.hex}"


TOKEN = {"token": "unsubscribe_token"}
OPEN = {"token": "open_secret"}
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
    row("post", "digests:link-end", DIGEST, ITS_READERS | {"guardian": 302, "director": 302}),
    row("get", "digests:open", OPEN, {"*": 200}),
    row("post", "digests:open-end", OPEN, {"*": 200}),
    row("get", "digests:unsubscribe", TOKEN, {"*": 200}),
    row("post", "digests:unsubscribe", TOKEN, {"*": 200}),
]
