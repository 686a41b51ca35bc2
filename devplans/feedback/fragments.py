"""Media fragments (W3C Media Fragments URI 1.0): which part of a film an address means. Pure.

Time in normal play time and regions are read; SMPTE and wall-clock times are ignored, as the
recommendation asks for what is not known.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from urllib.parse import unquote

CONFORMS_TO = "http://www.w3.org/TR/media-frags/"
_SECONDS = r"\d+(?:\.\d*)?"
_CLOCK = r"(?:\d+:)?[0-5]\d:[0-5]\d(?:\.\d*)?"
# "2:01.5" is no npt-mmss of the grammar (two digits), but "0:02:01.5" is an npt-hhmmss.
_NPT = rf"(?:{_CLOCK}|{_SECONDS})"
_TIME = re.compile(rf"(?:npt:)?(?:({_NPT})(?:,({_NPT}))?|,({_NPT}))", re.ASCII)
_PIXELS = re.compile(r"(?:pixel:)?(\d+),(\d+),(\d+),(\d+)", re.ASCII)
_NUMBER = r"(\d+(?:\.\d+)?)"
_PERCENT = re.compile(rf"percent:{','.join([_NUMBER] * 4)}", re.ASCII)
_LONGEST = 200


@dataclass(frozen=True)
class Region:
    """A rectangle of the picture: in pixels, or in percent of its size."""

    x: float
    y: float
    width: float
    height: float
    is_percent: bool = False


@dataclass(frozen=True)
class Fragment:
    """start_ms, end_ms: None where the fragment does not say; half-open [start, end)."""

    start_ms: int | None = None
    end_ms: int | None = None
    region: Region | None = None

    @property
    def has_time(self) -> bool:
        return self.start_ms is not None or self.end_ms is not None

    def within(self, duration_ms: int) -> tuple[int, int]:
        """(start, end) in a film of that length; past its end both are its end."""
        start = min(self.start_ms or 0, duration_ms)
        end = duration_ms if self.end_ms is None else min(self.end_ms, duration_ms)
        return start, max(start, end)


def parse(text: str) -> Fragment:
    """What comes after "#" of an address, or the value of a selector. Never raises.

    What is not valid or not known is ignored; of a repeated dimension the last valid one counts.
    """
    time: tuple[int | None, int | None] | None = None
    region: Region | None = None
    for pair in text.lstrip("#").split("&"):
        name, sign, value = pair.partition("=")
        if not sign or len(value) > _LONGEST:
            continue
        name, value = unquote(name), unquote(value)
        if name == "t":
            time = _read_time(value) or time
        elif name == "xywh":
            region = _read_region(value) or region
    start_ms, end_ms = time or (None, None)
    return Fragment(start_ms, end_ms, region)


def _read_time(value: str) -> tuple[int | None, int | None] | None:
    match = _TIME.fullmatch(value)
    if match is None:
        return None
    start = _ms(match[1]) if match[1] else 0
    end_words = match[2] or match[3]
    if not end_words:
        return start, None
    end = _ms(end_words)
    return (start, end) if start < end else None


def _ms(words: str) -> int:
    total = Decimal(0)
    for part in words.split(":"):
        total = total * 60 + Decimal(part)
    return int((total * 1000).to_integral_value(ROUND_HALF_UP))


def _read_region(value: str) -> Region | None:
    match = _PIXELS.fullmatch(value)
    is_percent = match is None
    match = match or _PERCENT.fullmatch(value)
    if match is None:
        return None
    x, y, width, height = (float(part) for part in match.groups())
    if not width or not height or (is_percent and max(x, y, width, height) > 100):
        return None
    return Region(x, y, width, height, is_percent)


def seconds(ms: int) -> str:
    """Milliseconds as seconds, without needless zeros: "12.5"."""
    whole, rest = divmod(ms, 1000)
    return f"{whole}.{rest:03}".rstrip("0").rstrip(".")


def written(start_ms: int, end_ms: int) -> str:
    """ "t=12.5,18". Raises ValueError unless the end is after the start."""
    if not 0 <= start_ms < end_ms:
        raise ValueError("a fragment ends after it starts")
    return f"t={seconds(start_ms)},{seconds(end_ms)}"
