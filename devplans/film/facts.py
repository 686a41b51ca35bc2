"""What is known of a film: `Probe`, and `sniff(first_bytes)` for a quick look. Loads no decoder."""

from dataclasses import asdict, dataclass
from typing import Any

SNIFF_BYTES = 64
# A camera's 60 pictures a second are measured as anything up to this; a copy has no more.
MOST_FPS = 61

_MP4_BOXES = {b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"pnot"}


def sniff(first_bytes: bytes) -> str | None:
    """ "mp4", "mov" or "webm" by the file's first bytes (64 are enough), None for anything else."""
    if first_bytes.startswith(b"\x1a\x45\xdf\xa3"):
        return "webm" if b"webm" in first_bytes[:SNIFF_BYTES] else None
    box = first_bytes[4:8]
    if box not in _MP4_BOXES:
        return None
    if box != b"ftyp" or first_bytes[8:12] == b"qt  ":
        return "mov"
    return "mp4"


@dataclass(frozen=True, kw_only=True)
class Probe:
    """`width` and `height` are upright; `rotation` is the clockwise turn already applied to them.

    `announced_ms` is what the file says of its own length, 0 when it says nothing; `problem` is
    empty, or text for the coach about a file that ends early.
    """

    duration_ms: int
    announced_ms: int
    width: int
    height: int
    rotation: int
    has_audio: bool
    codec: str
    frames: int
    first_pts: int
    time_base: str
    rate: float
    hdr: bool
    problem: str

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)
