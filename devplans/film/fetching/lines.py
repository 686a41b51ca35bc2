"""An open line to a film's server, by https, to the very address that was checked.

The name is looked up once; each address it stands for is checked; the socket connects to a checked
one, while the certificate and the Host header keep the name. So a name that answers differently
a moment later changes nothing. Proxies of the environment are not asked, redirects are followed by
hand, and nothing that comes is unpacked.
"""

import os
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import cache
from http.client import HTTPException
from ipaddress import ip_address

import certifi
from urllib3.connection import HTTPSConnection
from urllib3.exceptions import HTTPError

from devplans.film.faults import gettext_noop
from devplans.film.fetching import addresses
from devplans.film.fetching.addresses import Address, Refused

MOST_REDIRECTS = 5
REDIRECTS = {301, 302, 303, 307, 308}
MOST_TRIES = 3
READ_BYTES = 256 * 1024
USER_AGENT = "player-development-portal"

MANY_REDIRECTS = gettext_noop(
    "This address leads on to other addresses without an end. Copy the one of the film file itself."
)
NO_SERVER = gettext_noop("No server was found at this address. Look whether it is spelled right.")
NO_ANSWER = gettext_noop("The server at this address does not answer.")
BAD_CERTIFICATE = gettext_noop(
    "The server at this address cannot show that it is the one it says it is (its certificate is "
    "not valid). Nothing was fetched from it."
)
CUT = gettext_noop("The line to the film's server broke.")
TRICKLE = gettext_noop("The film's server sends too slowly.")


class Broken(Exception):
    """The line does not work now, and may later; `reason` is fit to be shown."""

    def __init__(self, reason: str, detail: str = "") -> None:
        super().__init__(f"{reason} [{detail}]" if detail else reason)
        self.reason = reason


def look_up(host: str, port: int) -> list[str]:
    """The IP addresses that a host's name stands for now, as the system's resolver says."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, proto=socket.IPPROTO_TCP)
    return list(dict.fromkeys(str(entry[4][0]) for entry in found))


@dataclass(frozen=True)
class Patience:
    """How long a server is waited for, in seconds; how much it must send meanwhile, in bytes."""

    connect_s: float = 15
    first_answer_s: float = 30
    read_s: float = 30
    window_s: float = 60
    least_bytes: int = 1024 * 1024


@dataclass(frozen=True)
class Rules:
    """What the operator allows: `named` private servers, a file with more certificates."""

    named: frozenset[str] = frozenset()
    ca_file: str = ""
    look_up: Callable[[str, int], list[str]] = look_up
    patience: Patience = field(default_factory=Patience)


class Watch(threading.Thread):
    """Cuts a line that outlasts its time, whatever the reading thread is stuck in."""

    def __init__(self, raw: socket.socket, seconds: float) -> None:
        super().__init__(daemon=True, name="film-line-watch")
        self.raw = raw
        self.until = time.monotonic() + seconds
        self.has_cut = False
        self.ended = threading.Event()

    def give(self, seconds: float) -> None:
        self.until = time.monotonic() + seconds

    def run(self) -> None:
        while not self.ended.wait(min(1.0, max(0.01, self.until - time.monotonic()))):
            if time.monotonic() >= self.until:
                self.has_cut = True
                with suppress(OSError):
                    self.raw.shutdown(socket.SHUT_RDWR)
                break
        self.ended.wait()
        self.raw.close()


class Line:
    """One answer of a film's server: `status`, `headers`, and its body by `chunks()`."""

    def __init__(self, address: Address, connection: HTTPSConnection, patience: Patience) -> None:
        self.address = address
        self.connection = connection
        self.patience = patience
        # A second handle of the socket below TLS: cutting that one is safe from any thread.
        raw = socket.socket(fileno=os.dup(connection.sock.fileno()))
        self.watch = Watch(raw, patience.first_answer_s)
        self.watch.start()

    def ask(self, headers: dict[str, str]) -> None:
        with self._told_plainly(NO_ANSWER):
            self.connection.request(
                "GET",
                self.address.target,
                headers={
                    "Host": self.address.authority,
                    "User-Agent": USER_AGENT,
                    "Accept": "*/*",
                    "Accept-Encoding": "identity",
                    "Connection": "close",
                    **headers,
                },
                preload_content=False,
                decode_content=False,
            )
            self.response = self.connection.getresponse()
        self.status = self.response.status
        self.headers = self.response.headers

    def chunks(self) -> Iterator[bytes]:
        """The body as it comes. Raises Broken where it stops early, or comes too slowly."""
        begun, got = time.monotonic(), 0
        while True:
            self.watch.give(self.patience.read_s)
            with self._told_plainly(CUT):
                piece = self.response.read1(READ_BYTES)
            if not piece:
                if self.watch.has_cut:
                    raise Broken(TRICKLE)
                return
            # Whoever takes the piece may be slow; that is not the server's fault.
            self.watch.give(24 * 3600)
            spent = time.monotonic()
            yield piece
            now = time.monotonic()
            begun += now - spent
            got += len(piece)
            if now - begun >= self.patience.window_s:
                if got < self.patience.least_bytes:
                    raise Broken(TRICKLE)
                begun, got = now, 0

    @contextmanager
    def _told_plainly(self, reason: str) -> Iterator[None]:
        try:
            yield
        except (OSError, HTTPError, HTTPException, ValueError) as error:
            raise Broken(TRICKLE if self.watch.has_cut else reason, repr(error)) from error

    def close(self) -> None:
        with suppress(OSError, HTTPError, AttributeError):
            self.response.close()
        with suppress(OSError):
            self.connection.close()
        self.watch.ended.set()


@contextmanager
def opened(url: str, *, rules: Rules, headers: dict[str, str]) -> Iterator[Line]:
    """The final answer to a GET of `url`, its redirects followed, each checked from scratch.

    Raises Refused where the portal does not go, Broken where nothing can be had now.
    """
    address = addresses.parse(url, named=rules.named)
    for _hop in range(MOST_REDIRECTS + 1):
        line = connected(address, rules)
        try:
            line.ask(headers)
            location = line.headers.get("Location", "") if line.status in REDIRECTS else ""
            if not location:
                yield line
                return
        finally:
            line.close()
        address = addresses.follow(address, location, named=rules.named)
    raise Refused(MANY_REDIRECTS)


def connected(address: Address, rules: Rules) -> Line:
    """A line to the first server of `address` that takes one; all of them are checked before."""
    failed: OSError | None = None
    for ip in checked_ips(address, rules)[:MOST_TRIES]:
        connection = HTTPSConnection(
            ip,
            address.port,
            timeout=rules.patience.connect_s,
            server_hostname=address.host,
            ssl_context=secure_context(rules.ca_file),
        )
        try:
            connection.connect()
        except ssl.SSLCertVerificationError as error:
            connection.close()
            raise Refused(BAD_CERTIFICATE, str(error)) from error
        except (OSError, HTTPError) as error:
            connection.close()
            failed = error if isinstance(error, OSError) else OSError(repr(error))
            continue
        connection.timeout = rules.patience.read_s
        return Line(address, connection, rules.patience)
    raise Broken(NO_ANSWER, repr(failed))


def checked_ips(address: Address, rules: Rules) -> list[str]:
    """The IP addresses of a host, each one allowed; one that is not spoils them all."""
    try:
        ips = [str(ip_address(address.host))]
    except ValueError:
        try:
            ips = rules.look_up(address.host, address.port)
        except (OSError, UnicodeError) as error:
            raise Broken(NO_SERVER, str(error)) from error
    if not ips:
        raise Broken(NO_SERVER)
    if not all(addresses.may_connect(ip, is_named=address.is_named) for ip in ips):
        raise Refused(addresses.PRIVATE, f"{address.host}: {', '.join(ips)}")
    return ips


@cache
def secure_context(ca_file: str) -> ssl.SSLContext:
    """Certificates are checked against the known authorities, and the operator's own."""
    context = ssl.create_default_context(cafile=certifi.where())
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    if ca_file:
        context.load_verify_locations(cafile=ca_file)
    return context
