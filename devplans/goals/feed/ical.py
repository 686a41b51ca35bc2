"""iCalendar text, RFC 5545 with the names of RFC 7986. Knows no database.

Times go out in UTC, so that no zone has to be described; days are days wherever they are read.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

MAKER = "-//Player development portal//Dates and work//EN"
LONGEST_LINE = 75
_BREAKS = re.compile("\r\n|[\r\n\v\f\x85\u2028\u2029]")
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Entry:
    """One entry. key: of no person's; start, end: two days or two aware times, end exclusive.

    stamp: when it was last changed; sequence: how often; fills_time: are people busy meanwhile?
    """

    key: UUID
    start: date
    end: date
    summary: str
    stamp: datetime
    sequence: int = 0
    place: str = ""
    words: str = ""
    cancelled: bool = False
    fills_time: bool = True


def calendar(name: str, entries: Iterable[Entry], *, refresh: timedelta) -> bytes:
    """A calendar of these entries. Raises ValueError for an entry that ends before it starts."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{MAKER}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{text(name)}",
        # What readers knew before RFC 7986.
        f"X-WR-CALNAME:{text(name)}",
        f"REFRESH-INTERVAL;VALUE=DURATION:{duration(refresh)}",
        f"X-PUBLISHED-TTL:{duration(refresh)}",
    ]
    body = [line for entry in entries for line in _event(entry)]
    lines += body or _NO_ENTRY
    lines.append("END:VCALENDAR")
    return b"".join(folded(line) for line in lines)


# A calendar must hold at least one component (RFC 5545, 3.6); an empty one describes UTC.
_NO_ENTRY = [
    "BEGIN:VTIMEZONE",
    "TZID:UTC",
    "BEGIN:STANDARD",
    "DTSTART:19700101T000000",
    "TZOFFSETFROM:+0000",
    "TZOFFSETTO:+0000",
    "END:STANDARD",
    "END:VTIMEZONE",
]


def _event(entry: Entry) -> Iterator[str]:
    if entry.end <= entry.start:
        raise ValueError(f"{entry.summary!r} ends before it starts")
    yield "BEGIN:VEVENT"
    yield f"UID:{entry.key}"
    yield f"DTSTAMP:{_utc(entry.stamp)}"
    yield f"LAST-MODIFIED:{_utc(entry.stamp)}"
    yield f"SEQUENCE:{entry.sequence}"
    yield f"DTSTART{_moment(entry.start)}"
    yield f"DTEND{_moment(entry.end)}"
    yield f"SUMMARY:{text(entry.summary)}"
    if entry.place:
        yield f"LOCATION:{text(entry.place)}"
    if entry.words:
        yield f"DESCRIPTION:{text(entry.words)}"
    yield f"STATUS:{'CANCELLED' if entry.cancelled else 'CONFIRMED'}"
    yield f"TRANSP:{'OPAQUE' if entry.fills_time and not entry.cancelled else 'TRANSPARENT'}"
    yield "END:VEVENT"


def _moment(moment: date) -> str:
    if isinstance(moment, datetime):
        return f":{_utc(moment)}"
    return f";VALUE=DATE:{moment:%Y%m%d}"


def _utc(moment: datetime) -> str:
    if moment.utcoffset() is None:
        raise ValueError("a time must carry its zone")
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def text(words: str) -> str:
    """A TEXT value (RFC 5545, 3.3.11): backslash, semicolon, comma and line ends escaped, other
    control characters left out."""
    words = _CONTROL.sub("", _BREAKS.sub("\n", words))
    words = words.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return words.replace("\n", "\\n")


def duration(length: timedelta) -> str:
    """A DURATION value (3.3.6): "P1D", "PT6H", "PT1H30M"; not negative, whole seconds."""
    if length < timedelta():
        raise ValueError(f"a duration cannot be negative, got {length}")
    minutes, seconds = divmod(length.seconds, 60)
    hours, minutes = divmod(minutes, 60)
    days = f"{length.days}D" if length.days else ""
    # Between hours and seconds the minutes may not be left out.
    parts = [(hours, "H"), (minutes, "M"), (seconds, "S")]
    inner = hours and seconds
    clock = "".join(f"{n}{unit}" for n, unit in parts if n or (unit == "M" and inner))
    return f"P{days}T{clock}" if clock else f"P{days or 'T0S'}"


def folded(line: str) -> bytes:
    """A content line with its line end, no part of it over 75 octets, no character split (3.1)."""
    parts: list[bytes] = []
    part = b""
    for letter in line:
        octets = letter.encode("utf-8", "replace")
        if len(part) + len(octets) > LONGEST_LINE:
            parts.append(part)
            part = b" "
        part += octets
    return b"\r\n".join([*parts, part]) + b"\r\n"
