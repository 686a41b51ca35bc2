"""Byte ranges of RFC 9110, section 14, for one file: `choose(...)` says what to answer with."""

import re
from dataclasses import dataclass

_SPEC = re.compile(r"bytes[ \t]*=[ \t]*(\d*)-(\d*)[ \t]*", re.ASCII | re.IGNORECASE)
# Longer numbers mean nothing for a file, and Python refuses to read very long ones.
_MOST_DIGITS = 18


@dataclass(frozen=True)
class Whole:
    """Answer 200 with all of it."""


@dataclass(frozen=True)
class Part:
    """Answer 206 with the bytes from `first` to `last`, both included."""

    first: int
    last: int

    @property
    def length(self) -> int:
        return self.last - self.first + 1

    def content_range(self, size: int) -> str:
        return f"bytes {self.first}-{self.last}/{size}"


@dataclass(frozen=True)
class Unsatisfiable:
    """Answer 416."""


def choose(
    size: int,
    range_header: str | None,
    *,
    etag: str = "",
    if_range: str | None = None,
    method: str = "GET",
) -> Whole | Part | Unsatisfiable:
    """What a request with these headers gets of a file of `size` bytes.

    Several ranges, other units and ranges that make no sense are answered with the whole, as the
    RFC allows; so is an If-Range other than the file's strong `etag`.
    """
    if not range_header or method != "GET":
        return Whole()
    if if_range is not None and not _is_same(etag, if_range.strip()):
        return Whole()
    match = _SPEC.fullmatch(range_header.strip())
    if match is None:
        return Whole()
    return _part(size, match[1], match[2])


def _is_same(etag: str, asked: str) -> bool:
    return bool(etag) and not etag.startswith("W/") and asked == etag


def _part(size: int, first_text: str, last_text: str) -> Whole | Part | Unsatisfiable:
    if not first_text and not last_text:
        return Whole()
    if not first_text:
        length = _number(last_text)
        return Part(max(0, size - length), size - 1) if length and size else Unsatisfiable()
    first = _number(first_text)
    last = _number(last_text) if last_text else max(first, size - 1)
    if last < first:
        return Whole()
    return Part(first, min(last, size - 1)) if first < size else Unsatisfiable()


def _number(digits: str) -> int:
    digits = digits.lstrip("0") or "0"
    return int(digits) if len(digits) <= _MOST_DIGITS else 10**_MOST_DIGITS
