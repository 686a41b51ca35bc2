"""One portal for all journeys, started as a person starts it, mailing to a real SMTP server."""

import logging
from collections.abc import Iterator

import pytest

from tests.e2e.mailbox import Mailbox
from tests.e2e.people import Person
from tests.served import Portal
from tests.services import free_port


@pytest.fixture(scope="session")
def mailbox() -> Iterator[Mailbox]:
    logging.getLogger("mail.log").setLevel(logging.WARNING)
    box = Mailbox(free_port())
    box.controller.start()
    yield box
    box.controller.stop()


@pytest.fixture(scope="session")
def portal(mailbox, tmp_path_factory) -> Iterator[Portal]:
    served = Portal(tmp_path_factory.mktemp("e2e") / "data", free_port(), EMAIL_URL=mailbox.url)
    served.command("migrate", "--verbosity", "0")
    served.command("sync_catalogue", "--verbosity", "0")
    try:
        yield served.start().until_ready()
    finally:
        served.stop()


@pytest.fixture
def person(browser, portal) -> Iterator:
    """Opens a browser for somebody; at the end nobody may have met an error or a violation."""
    opened: list[Person] = []

    def open_for(*, on: str = "laptop") -> Person:
        opened.append(Person(browser, portal.address, on=on))
        return opened[-1]

    yield open_for
    for one in opened:
        one.close()
    faults = [fault for one in opened for fault in one.faults]
    assert not faults, "\n".join([*faults, tracebacks(portal)])
    assert not tracebacks(portal)


def tracebacks(portal: Portal) -> str:
    """What web server and workers wrote down as unforeseen."""
    logs = [path.read_text() for path in sorted((portal.data_dir / "log").glob("*.log"))]
    return "\n".join(
        log[max(0, log.index("Traceback") - 500) :] for log in logs if "Traceback" in log
    )
