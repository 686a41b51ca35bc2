"""Where the portal may fetch a film from. Pure: no name is looked up and nothing is opened here.

An address is taken apart once, into an `Address`; what is looked up, connected to, written into the
Host header and checked in the certificate are its parts, so no second reader can read it otherwise.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from urllib.parse import quote, urljoin, urlsplit

import idna

from devplans.film.faults import gettext_noop

HTTPS_PORT = 443
LONGEST = 2000

NOT_AN_ADDRESS = gettext_noop(
    "This is not a web address. Copy it whole; it begins with https:// and leads to the film file."
)
TOO_LONG = gettext_noop("This address is too long. It may have 2,000 characters.")
NOT_HTTPS = gettext_noop("The address must begin with https://, so that nobody reads along.")
WITH_NAME = gettext_noop(
    "There is a name or a password in this address. Share the film by a link that needs neither."
)
OTHER_PORT = gettext_noop("The portal only fetches from the usual port for https, 443.")
SWITCHED_OFF = gettext_noop("Fetching films by their address is switched off on this portal.")
PRIVATE = gettext_noop(
    "This address leads into a private network. The portal only fetches from the open internet."
)


class Refused(Exception):
    """The portal does not go there; `reason` is fit to be shown."""

    def __init__(self, reason: str, detail: str = "") -> None:
        super().__init__(f"{reason} [{detail}]" if detail else reason)
        self.reason = reason


@dataclass(frozen=True)
class Address:
    """`host` is a name in its ASCII form, or an IP address without brackets; `target` is what the
    request line asks for. `is_named` says that the operator named this very host and port."""

    host: str
    port: int
    target: str
    is_named: bool = False

    @property
    def authority(self) -> str:
        """As the Host header says it."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return host if self.port == HTTPS_PORT else f"{host}:{self.port}"

    @property
    def url(self) -> str:
        return f"https://{self.authority}{self.target}"


def parse(text: str, *, named: Iterable[str] = ()) -> Address:
    """Take an address apart, or raise Refused with the reason in words.

    named: "host" or "host:port" of private servers that the operator allows.
    """
    text = text.strip(" \t\r\n")
    if len(text) > LONGEST:
        raise Refused(TOO_LONG)
    # Readers of addresses differ in what they make of these, and the difference is the attack.
    if not text or re.search(r"[\x00-\x20\x7f\\]", text):
        raise Refused(NOT_AN_ADDRESS)
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise Refused(NOT_AN_ADDRESS, str(error)) from error
    if parts.scheme != "https":
        raise Refused(NOT_HTTPS if "://" in text else NOT_AN_ADDRESS)
    if "@" in parts.netloc:
        raise Refused(WITH_NAME)
    host = checked_host(parts.netloc)
    port = HTTPS_PORT if port is None else port
    allowed = {one.strip().lower() for one in named}
    is_named = f"{host}:{port}" in allowed or (port == HTTPS_PORT and host in allowed)
    if not is_named:
        if port != HTTPS_PORT:
            raise Refused(OTHER_PORT)
        _require_public_name(host)
    path = quote(parts.path or "/", safe="/%:@!$&'()*+,;=~-._")
    query = quote(parts.query, safe="/%:@!$&'()*+,;=~-._?")
    return Address(host, port, f"{path}?{query}" if query else path, is_named)


def follow(address: Address, location: str, *, named: Iterable[str] = ()) -> Address:
    """Where a redirect from `address` leads, checked from scratch.

    A redirect from the open internet to a server that the operator named is refused as well: only
    the coach's own words lead there.
    """
    if re.search(r"[\x00-\x1f\x7f\\]", location):
        raise Refused(NOT_AN_ADDRESS)
    joined = urljoin(address.url, location.strip(" ").replace(" ", "%20"))
    return parse(joined, named=named if address.is_named else ())


def checked_host(netloc: str) -> str:
    """The host of `host[:port]`: a name in ASCII, or an IP address in its one usual spelling."""
    if netloc.startswith("["):
        inside = re.fullmatch(r"\[([0-9A-Fa-f:.]+)\](:\d*)?", netloc)
        # No zone ("fe80::1%eth0"): it names an interface of this machine.
        try:
            return str(IPv6Address(inside[1] if inside else ""))
        except ValueError as error:
            raise Refused(NOT_AN_ADDRESS, "IPv6") from error
    host = netloc.rpartition(":")[0] if ":" in netloc else netloc
    try:
        name = idna.encode(host, uts46=True, std3_rules=True).decode("ascii").lower()
    except (idna.IDNAError, UnicodeError) as error:
        raise Refused(NOT_AN_ADDRESS, "host") from error
    name = name.removesuffix(".")
    # A last label of digits makes it an IPv4 address for some readers: "0177.1", "2130706433".
    if re.fullmatch(r"\d+|0x[0-9a-f]*", name.rpartition(".")[2]):
        try:
            return str(IPv4Address(name))
        except ValueError as error:
            raise Refused(NOT_AN_ADDRESS, "IPv4") from error
    return name


# Names that a resolver answers from its own network, never from the internet.
_PRIVATE_ENDINGS = re.compile(
    r"(^|\.)(localhost|local|localdomain|internal|intranet|lan|home|corp|private|home\.arpa)$"
)


def _require_public_name(host: str) -> None:
    try:
        address = ip_address(host)
    except ValueError:
        if "." not in host or _PRIVATE_ENDINGS.search(host):
            raise Refused(PRIVATE, host) from None
        return
    if not is_public(address):
        raise Refused(PRIVATE, host)


_PRIVATE_V4 = [
    ip_network(net)
    for net in (
        "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16",
        "172.16.0.0/12", "192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24", "192.168.0.0/16",
        "198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24", "224.0.0.0/4", "240.0.0.0/4",
        # A cloud's own service for its machines, in a public range.
        "168.63.129.16/32",
    )
]  # fmt: skip
_UNICAST_V6 = ip_network("2000::/3")
_PRIVATE_V6 = [
    # Protocol assignments with Teredo and overlays; examples; 6to4; examples again.
    ip_network(net)
    for net in ("2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20")
]
# RFC 6052: how a network without IPv4 reaches IPv4 servers, and all that its resolver answers.
_TRANSLATED = ip_network("64:ff9b::/96")
_ISATAP = (0x00005EFE, 0x02005EFE)


def is_public(address: IPv4Address | IPv6Address) -> bool:
    """Is this one address of the open internet, in every reading of it?

    Our own list beside the library's, whose answers differ between Python versions (IANA
    special-purpose registries, RFC 6890). A mapped, translated or tunnelled IPv4 address is no
    way around the list.
    """
    if isinstance(address, IPv4Address):
        return (
            address.is_global
            and not address.is_multicast
            and not address.is_reserved
            and not any(address in net for net in _PRIVATE_V4)
        )
    if address.scope_id:
        return False
    if address in _TRANSLATED:
        return is_public(IPv4Address(int(address) & 0xFFFFFFFF))
    if address not in _UNICAST_V6 or not address.is_global or address.is_multicast:
        return False
    if (int(address) >> 32) & 0xFFFFFFFF in _ISATAP:
        return False
    return not any(address in net for net in _PRIVATE_V6)


def may_connect(ip: str, *, is_named: bool) -> bool:
    """May the portal connect to `ip`, which a host's name stands for?

    is_named: the operator named the host, so its own network is allowed; what no server has
    (unspecified, multicast, link-local and with it a cloud's metadata) is not.
    """
    try:
        address = ip_address(ip)
    except ValueError:
        return False
    if is_public(address):
        return True
    if not is_named or (isinstance(address, IPv6Address) and address.scope_id):
        return False
    inner = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    if inner is not None:
        return False
    never = (address.is_unspecified, address.is_multicast, address.is_link_local)
    metadata = str(address) in {"fd00:ec2::254", "168.63.129.16", "100.100.100.200"}
    return (address.is_private or address.is_loopback) and not any(never) and not metadata
