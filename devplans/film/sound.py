"""Lay a film's sound anew along its pictures: stereo, 48 kHz, from a chosen moment on."""

from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import av.error

from devplans.film.reading import decode, open_container, sound_stream

RATE = 48_000
LAYOUT = "stereo"
_SAMPLE_BYTES = 4
_PIECE = RATE
# Time stamps in milliseconds jitter by this much; following them would crackle.
_SLACK = RATE // 50
_EARLY_S = 1


class Sound:
    """The sound of the film at `path`, its zero at `base_s` of the file's own clock.

    What lies before the base is trimmed and gaps become silence, so that the sound keeps to the
    pictures. Reads the file on its own, since sound and picture need not lie side by side in it.
    """

    def __init__(self, path: Path | str, base_s: Fraction, *, seek: bool = False) -> None:
        self._base = base_s
        self._container = self._opened(path)
        self._stream = sound_stream(self._container)
        self._pending = bytearray()
        self._silence = 0
        self._written = 0
        self._held = 0
        self._blocks = self._read(seek=seek)
        self.is_heard = self._load()

    def close(self) -> None:
        self._container.close()

    def until(self, time_s: Fraction) -> Iterator[Any]:
        """Frames that follow what was given before, up to `time_s` from the base."""
        goal = round(time_s * RATE)
        while self._written < goal:
            piece = self._take(min(goal - self._written, _PIECE))
            if not piece:
                return
            yield self._frame(piece)

    def hold(self, length_s: Fraction) -> Iterator[Any]:
        """Silent frames of that length; what follows comes so much later."""
        left = round(length_s * RATE)
        self._held += left
        while left:
            samples = min(left, _PIECE)
            left -= samples
            yield self._frame(bytes(samples * _SAMPLE_BYTES))

    def _take(self, samples: int) -> bytes:
        if not self._silence and not self._pending and not self._load():
            return b""
        if self._silence:
            samples = min(samples, self._silence)
            self._silence -= samples
            return bytes(samples * _SAMPLE_BYTES)
        piece = bytes(self._pending[: samples * _SAMPLE_BYTES])
        del self._pending[: len(piece)]
        return piece

    def _frame(self, piece: bytes) -> Any:
        frame = av.AudioFrame(format="s16", layout=LAYOUT, samples=len(piece) // _SAMPLE_BYTES)
        plane = frame.planes[0]
        plane.update(piece.ljust(plane.buffer_size, b"\0"))
        frame.sample_rate = RATE
        frame.time_base = Fraction(1, RATE)
        frame.pts = self._written
        self._written += frame.samples
        return frame

    def _load(self) -> bool:
        """Hold the next block that reaches past what is written; False at the end of the sound."""
        for start, block in self._blocks:
            gap = start + self._held - self._written
            if abs(gap) > _SLACK or self._written == 0:
                block = block[max(0, -gap) * _SAMPLE_BYTES :]
                self._silence = max(0, gap)
            if block:
                self._pending += block
                return True
        return False

    def _read(self, *, seek: bool) -> Iterator[tuple[int, bytes]]:
        if self._stream is None:
            return
        resampler: Any = None
        kind = None
        for frame in self._frames(seek=seek):
            if frame.pts is None:
                continue
            if kind != (frame.format.name, frame.layout.name, frame.sample_rate):
                kind = (frame.format.name, frame.layout.name, frame.sample_rate)
                resampler = av.AudioResampler(format="s16", layout=LAYOUT, rate=RATE)
            for block in resampler.resample(frame):
                yield self._placed(block)
        if resampler is not None:
            yield from (self._placed(block) for block in resampler.resample(None))

    def _opened(self, path: Path | str) -> Any:
        return open_container(path)

    def _frames(self, *, seek: bool) -> Iterator[Any]:
        if seek:
            with suppress(av.error.FFmpegError):
                self._container.seek(int((self._base - _EARLY_S) * 1_000_000))
        return decode(self._container, self._stream)

    def _placed(self, block: Any) -> tuple[int, bytes]:
        start = round((block.pts * block.time_base - self._base) * RATE)
        return start, bytes(block.planes[0])[: block.samples * _SAMPLE_BYTES]
