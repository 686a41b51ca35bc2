"""What a film's server answered, and what follows from it. Pure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from email.utils import parsedate_to_datetime

from devplans.film.facts import SNIFF_BYTES, sniff
from devplans.film.faults import gettext_noop
from devplans.film.fetching.addresses import Refused
from devplans.film.fetching.lines import Broken

WEB_PAGE = gettext_noop(
    "That address leads to a web page, not to a film file. Copy the address of the file itself, "
    "or download the film and upload it."
)
NOT_A_FILM = gettext_noop("What lies at that address is not a film we can read.")
SIGN_IN = gettext_noop(
    "The film's server wants a sign-in. Share it so that everyone with the link can get it."
)
GONE = gettext_noop("There is nothing at this address, or no longer.")
PACKED = gettext_noop(
    "The film's server sends the film packed up. Download it, unpack it, and upload the film."
)
WILL_NOT = gettext_noop("The film's server does not give the film out.")
BUSY = gettext_noop("The film's server is busy, or out of order.")
CHANGED = gettext_noop("The film's server sent another part of the film than it was asked for.")
TOO_BIG = gettext_noop("This film is too big for the portal.")
EMPTY = gettext_noop("The file at this address is empty.")

_TRY_LATER = {408, 425, 429, 500, 502, 503, 504}
HEAD_BYTES = 512


class Changed(Broken):
    """What is there already fits no longer: a fetch has to begin anew."""


@dataclass(frozen=True)
class Coming:
    """What is on its way: from byte `start`, of `total` in all (None: the server does not say)."""

    start: int
    total: int | None
    validator: str


def asked(have: int, validator: str) -> dict[str, str]:
    """Headers that ask for what is missing after `have` bytes, if it is still the same file."""
    return {"Range": f"bytes={have}-", "If-Range": validator} if have and validator else {}


def coming(status: int, headers: Mapping[str, str], *, have: int, most_bytes: int) -> Coming:
    """Read the head of an answer. have: bytes that were asked to be left out.

    Raises Refused where trying again is no use, Broken where it may be.
    """
    _require_success(status)
    encoding = headers.get("Content-Encoding", "identity").strip().lower()
    transfer = headers.get("Transfer-Encoding", "chunked").strip().lower()
    if encoding not in {"", "identity"} or transfer != "chunked":
        raise Refused(PACKED, f"{encoding} {transfer}")
    start, total = 0, _number(headers.get("Content-Length"))
    if status == 206:
        start, total = _part(headers.get("Content-Range", ""), have)
    if total == 0:
        raise Refused(EMPTY)
    if total is not None and total > most_bytes:
        raise Refused(TOO_BIG, str(total))
    return Coming(start, total, validator_of(headers))


def _require_success(status: int) -> None:
    if status in {200, 206}:
        return
    if status in {401, 403, 407}:
        raise Refused(SIGN_IN, str(status))
    if status in {404, 410}:
        raise Refused(GONE, str(status))
    if status in _TRY_LATER:
        raise Broken(BUSY, str(status))
    # 416: what we have is more than there is now.
    if status == 416:
        raise Changed(CHANGED, str(status))
    raise Refused(WILL_NOT, str(status))


def _number(text: str | None) -> int | None:
    return int(text) if text and re.fullmatch(r"\d{1,15}", text.strip()) else None


def _part(content_range: str, have: int) -> tuple[int, int]:
    found = re.fullmatch(r"bytes (\d{1,15})-(\d{1,15})/(\d{1,15})", content_range.strip())
    if not found:
        raise Changed(CHANGED, content_range)
    first, last, total = (int(number) for number in found.groups())
    if first != have or last != total - 1:
        raise Changed(CHANGED, content_range)
    return first, total


def validator_of(headers: Mapping[str, str]) -> str:
    """A strong ETag, or a date old enough to be one (RFC 9110, 8.8.2.2); "" where there is none."""
    etag = headers.get("ETag", "").strip()
    if re.fullmatch(r'"[\x21\x23-\x7e]{1,290}"', etag):
        return etag
    changed, now = headers.get("Last-Modified", "").strip(), headers.get("Date", "").strip()
    try:
        is_old = (parsedate_to_datetime(now) - parsedate_to_datetime(changed)).total_seconds() >= 1
    except (TypeError, ValueError):
        return ""
    return changed if is_old and len(changed) < 60 else ""


def require_film(head: bytes, content_type: str) -> None:
    """Raise Refused unless a file that begins with `head` is a film, whatever the server says."""
    if sniff(head[:SNIFF_BYTES]) is not None:
        return
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    is_page = text.startswith(
        (b"<!doctype html", b"<html", b"<head", b"<body", b"<script", b"<!--")
    )
    if is_page or content_type.partition(";")[0].strip().lower() in {
        "text/html",
        "application/xhtml+xml",
    }:
        raise Refused(WEB_PAGE)
    raise Refused(NOT_A_FILM)
