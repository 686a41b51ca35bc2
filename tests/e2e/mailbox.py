"""A real SMTP server that keeps what the portal sends, and reads it as any mail program would."""

import re
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.message import EmailMessage

from aiosmtpd.controller import Controller

from tests.served import wait_for


def is_chart(part: EmailMessage) -> bool:
    """A chart is a PNG of its name; a still is neither."""
    name = str(part["Content-ID"]).strip("<>")
    return part.get_content_type() == "image/png" and name.startswith(("share-", "minutes-"))


@dataclass(frozen=True)
class Mail:
    to: str
    message: EmailMessage

    @property
    def subject(self) -> str:
        return str(self.message["Subject"])

    @property
    def text(self) -> str:
        return self.message.get_body(("plain",)).get_content().replace("\r\n", "\n")

    @property
    def html(self) -> str:
        body = self.message.get_body(("html",))
        return body.get_content() if body else ""

    def pictures(self) -> list[EmailMessage]:
        """Every image but the charts of numbers, which are drawn by us and shown to everyone."""
        images = [part for part in self.message.walk() if part.get_content_maintype() == "image"]
        return [part for part in images if not is_chart(part)]

    def everything(self) -> str:
        """All that a reader, or a curious one who opens the source, can see; pictures apart."""
        parts = [f"{name}: {value}" for name, value in self.message.items()]
        for part in self.message.walk():
            parts += [f"{name}: {value}" for name, value in part.items()]
            if part.get_content_maintype() == "text":
                parts.append(part.get_content())
        return "\n".join(parts)

    def link(self, path: str) -> str:
        """The first address in the text that holds `path`."""
        return next(url for url in re.findall(r"https?://\S+", self.text) if path in url)


class Mailbox:
    """The handler of the SMTP server: takes everything, keeps it by recipient."""

    def __init__(self, port: int):
        self.mails: list[Mail] = []
        self.controller = Controller(self, hostname="127.0.0.1", port=port)
        self.url = f"smtp://127.0.0.1:{port}"

    async def handle_DATA(self, server, session, envelope) -> str:
        message = message_from_bytes(envelope.content, policy=policy.default)
        self.mails += [Mail(to, message) for to in envelope.rcpt_tos]
        return "250 taken"

    def to(self, address: str, *, subject: str = "") -> list[Mail]:
        return [mail for mail in self.mails if mail.to == address and subject in mail.subject]

    def wait(self, address: str, *, subject: str = "", count: int = 1) -> list[Mail]:
        """Wait until `count` mails have arrived; more than that is a failure."""
        wait_for(lambda: len(self.to(address, subject=subject)) >= count)
        found = self.to(address, subject=subject)
        assert len(found) == count, [mail.subject for mail in found]
        return found
