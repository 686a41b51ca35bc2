from typing import Any

from devplans.core.mail import queue_message
from tests.access import row


def things(cast: Any) -> None:
    cast.mail = queue_message(
        key="demo",
        kind="notice",
        address=cast.guardian.email,
        recipient=cast.guardian,
        subject="S",
        text="T",
    )


# Outside the demo these pages are not there; tests/portal/test_demo.py opens them in it.
NOWHERE = {"*": 404, "anon": 302}
ROWS = [
    row("get", "demo:mails", {}, NOWHERE),
    row("get", "demo:mail", {"message_id": "mail"}, NOWHERE),
    row("get", "demo:letter", {"message_id": "mail"}, NOWHERE),
]
