"""Any file's sound as stretches of 16 kHz mono that end where nobody talks. Streamed: never more
than a stretch is held."""

import math
from array import array
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from operator import mul
from typing import Any

import av
import av.error

from devplans.film.reading import decode, sound_stream
from devplans.talkthrough.speech_faults import BROKEN, NO_SOUND, TOO_LONG, NoSpeech

RATE = 16_000
LONGEST_MS = 4 * 3_600_000
# Files that hold sound; none that name other files.
FORMATS = (
    "mov,matroska,webm,ogg,wav,w64,mp3,flac,aac,aiff,au,caf,amr,asf,avi,mpegts,mpeg,flv,wv,ac3,ape"
)
# A stretch is cut at the quietest moment between these two.
SHORTEST_S, MOST_S = 20, 40
_FRAME = RATE // 50
_QUIET_FRAMES = 20
# A hole in the sound longer than this ends a stretch; a shorter one is filled.
_HOLE = RATE
# Voices far from the microphone are made louder; where nothing is louder than this, nobody talks.
_LOUD, _MOST_GAIN, _SILENT = 0.4, 20.0, 0.002


@dataclass(frozen=True)
class Stretch:
    start_ms: int
    end_ms: int
    samples: "array[float]"

    @property
    def is_silent(self) -> bool:
        return (
            max(self.samples, default=0.0) < _SILENT and min(self.samples, default=0.0) > -_SILENT
        )


class Sound:
    """The sound of the file at `path`, from `from_ms` of it on. length_ms: as the file says, or
    None. Raises NoSpeech."""

    def __init__(self, path: str, *, from_ms: int = 0) -> None:
        self._from = from_ms * RATE // 1000
        self._container = _opened(path)
        self._stream = sound_stream(self._container)
        if self._stream is None:
            raise NoSpeech(NO_SOUND)
        duration = self._container.duration
        self.length_ms = duration // 1000 if duration and duration > 0 else None
        if self.length_ms is not None and self.length_ms > LONGEST_MS:
            raise NoSpeech(TOO_LONG)
        self._base_s = (self._container.start_time or 0) / 1_000_000

    def stretches(self) -> Iterator[Stretch]:
        held = _Held(self._from)
        for place, samples in self._blocks():
            yield from held.add(place, samples)
            if held.end > LONGEST_MS * RATE // 1000:
                raise NoSpeech(TOO_LONG)
        yield from held.taken()

    def _blocks(self) -> Iterator[tuple[int, "array[float]"]]:
        """Samples with their place. Time stamps count where they leap, else samples do."""
        resampler: Any = None
        kind = None
        place = 0
        heard = False
        for frame in decode(self._container, self._stream):
            if kind != (frame.format.name, frame.layout.name, frame.sample_rate):
                kind = (frame.format.name, frame.layout.name, frame.sample_rate)
                resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE)
            said = None
            if frame.pts is not None and frame.time_base is not None:
                said = round((float(frame.pts * frame.time_base) - self._base_s) * RATE)
            if said is not None and (not heard or abs(said - place) > _HOLE // 2):
                place = max(said, place)
            for block in _resampled(resampler, frame):
                heard = True
                yield place, block
                place += len(block)
        if not heard:
            raise NoSpeech(BROKEN)


class _Held:
    """Samples that are no stretch yet. start and end: where they lie."""

    def __init__(self, start: int) -> None:
        self._start = start
        self._samples: array[float] = array("f")

    @property
    def end(self) -> int:
        return self._start + len(self._samples)

    def add(self, place: int, samples: "array[float]") -> Iterator[Stretch]:
        """Take what is new of them; give what became a stretch by them."""
        samples = samples[max(0, self.end - place) :]
        if not samples:
            return
        hole = max(0, place - self.end)
        if hole > _HOLE:
            gone_on = self.end + hole
            yield from self.taken()
            self._start = gone_on
        else:
            self._samples.extend([0.0] * hole)
        self._samples.extend(samples)
        while len(self._samples) >= MOST_S * RATE:
            yield self._cut(quietest(self._samples, SHORTEST_S * RATE, MOST_S * RATE))

    def taken(self) -> Iterator[Stretch]:
        """All that is left."""
        if self._samples:
            yield self._cut(len(self._samples))

    def _cut(self, length: int) -> Stretch:
        start, end = self._start, self._start + length
        samples, self._samples = self._samples[:length], self._samples[length:]
        self._start = end
        return Stretch(start * 1000 // RATE, end * 1000 // RATE, samples)


def _resampled(resampler: Any, frame: Any) -> Iterator["array[float]"]:
    with suppress(av.error.FFmpegError, ValueError):
        frame.pts = None
        for block in resampler.resample(frame):
            samples = array("f")
            samples.frombytes(bytes(block.planes[0])[: block.samples * 4])
            yield samples


def _opened(path: str) -> Any:
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    try:
        return av.open(f"file:{path}", options=options, metadata_errors="ignore")
    except (av.error.FFmpegError, ValueError, OSError) as error:
        raise NoSpeech(BROKEN, str(error)) from error


def louder(samples: "array[float]") -> "array[float]":
    """Quiet voices at the loudness of near ones; what is no number is silence."""
    peak = max(max(samples), -min(samples))
    if not math.isfinite(peak) or peak > 1:
        return array("f", (max(-1.0, min(1.0, one)) if one == one else 0.0 for one in samples))
    gain = min(_MOST_GAIN, _LOUD / max(peak, 1e-6))
    return array("f", (one * gain for one in samples)) if gain > 1.2 else samples


def quietest(samples: "array[float]", first: int, last: int) -> int:
    """The middle of the quietest 0.4 s between two places."""
    powers = []
    for begin in range(first, last - _FRAME + 1, _FRAME):
        frame = samples[begin : begin + _FRAME]
        powers.append(sum(map(mul, frame, frame)))
    window = sum(powers[:_QUIET_FRAMES])
    least, best = window, 0
    for index in range(_QUIET_FRAMES, len(powers)):
        window += powers[index] - powers[index - _QUIET_FRAMES]
        # The later of two as quiet ones: stretches are long then.
        if window <= least * 1.02 + 1e-9:
            least, best = min(least, window), index - _QUIET_FRAMES + 1
    return first + best * _FRAME + _QUIET_FRAMES * _FRAME // 2
