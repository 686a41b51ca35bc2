"""The headers of tus 1.0 (https://tus.io/protocols/resumable-upload): reading and writing them.

Core, creation, creation-with-upload, checksum, termination, expiration. No Django here.
"""

import base64
import binascii
import hashlib
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email.utils import format_datetime

VERSION = "1.0.0"
EXTENSIONS = "creation,creation-with-upload,checksum,termination,expiration"
ALGORITHMS = ("sha1", "sha256")
CONTENT_TYPE = "application/offset+octet-stream"
MOST_METADATA = 20
LONGEST_METADATA = 8_000


class Malformed(ValueError):
    """A header that says nothing; its text is for whoever wrote the client."""


def number(text: str | None, name: str) -> int:
    """A header's whole number, not negative; raises Malformed."""
    if text is None or not re.fullmatch(r"[0-9]{1,18}", text):
        raise Malformed(f"{name} has to be a whole number, not negative.")
    return int(text)


def metadata(text: str | None) -> dict[str, str]:
    """`Upload-Metadata`: key, space, base64; pairs apart by commas. Raises Malformed."""
    found: dict[str, str] = {}
    if not text or not text.strip():
        return found
    pairs = text.split(",")
    if len(text) > LONGEST_METADATA or len(pairs) > MOST_METADATA:
        raise Malformed("Upload-Metadata is too long.")
    for pair in pairs:
        key, _, value = pair.strip().partition(" ")
        if not key or not key.isascii() or key in found:
            raise Malformed("Upload-Metadata needs keys in ASCII, each of them once.")
        try:
            found[key] = base64.b64decode(value, validate=True).decode()
        except (binascii.Error, UnicodeDecodeError) as error:
            raise Malformed(f"Upload-Metadata: {key} is not text in base64.") from error
    return found


@dataclass
class Checksum:
    """What `Upload-Checksum` says; `over(pieces)` counts along, then `holds()` tells."""

    algorithm: str
    expected: bytes
    _hash: "hashlib._Hash" = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._hash = hashlib.new(self.algorithm, usedforsecurity=False)

    def over(self, pieces: Iterable[bytes]) -> Iterator[bytes]:
        for piece in pieces:
            self._hash.update(piece)
            yield piece

    def holds(self) -> bool:
        return self._hash.digest() == self.expected


def checksum(text: str | None) -> Checksum | None:
    """None without the header. Raises Malformed, also for an algorithm that is not offered."""
    if text is None:
        return None
    algorithm, _, encoded = text.strip().partition(" ")
    if algorithm not in ALGORITHMS:
        raise Malformed(f"Upload-Checksum: use one of {', '.join(ALGORITHMS)}.")
    try:
        expected = base64.b64decode(encoded, validate=True)
    except binascii.Error as error:
        raise Malformed("Upload-Checksum is not base64.") from error
    if len(expected) != hashlib.new(algorithm, usedforsecurity=False).digest_size:
        raise Malformed(f"Upload-Checksum is no {algorithm}.")
    return Checksum(algorithm, expected)


def expires(moment: datetime) -> str:
    """As in `Upload-Expires`."""
    return format_datetime(moment.astimezone(UTC), usegmt=True)


class Body:
    """A request's body in pieces, never all at once. `received` counts what came.

    read(count): gives bytes, none at the end. A sender that goes away is an early end, whatever
    `broken` it raises.
    """

    PIECE_BYTES = 256 * 1024
    # An answer reaches a sender only once he has sent what he meant to; more is not waited for.
    MOST_DRAINED = 16 * 1024 * 1024

    def __init__(
        self, read: Callable[[int], bytes], announced: int, broken: type[Exception] = OSError
    ) -> None:
        self._read, self.announced, self._broken = read, announced, broken
        self.received = 0

    def __iter__(self) -> Iterator[bytes]:
        while self.received < self.announced:
            try:
                piece = self._read(min(self.PIECE_BYTES, self.announced - self.received))
            except self._broken:
                return
            if not piece:
                return
            self.received += len(piece)
            yield piece

    @property
    def is_whole(self) -> bool:
        return self.received == self.announced

    def drain(self) -> None:
        """Read on without looking, so that a refusal arrives."""
        if self.announced - self.received <= self.MOST_DRAINED:
            for _piece in self:
                pass
