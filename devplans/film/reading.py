"""Open an uploaded film with everything closed that a hostile file could use, and read its frames.

`FilmReader(path)` is a context manager: `.first`, `.time_of(frame)`, `.pts_at(ms)`, `.frames()`,
`.frames_from(pts)`. Times are exact fractions of a second from the first frame.
"""

import os
from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from itertools import dropwhile
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import av
import av.error

from devplans.film.facts import SNIFF_BYTES, sniff
from devplans.film.faults import EMPTY, NO_PICTURE, TOO_LARGE, UNREADABLE, WRONG_TYPE, NotAFilm

# A text file named .mp4 opens as a play list of other people's films unless formats are named.
FORMATS = "mov,matroska,webm"
MAX_PIXELS = 4096 * 4096
MAX_THREADS = 4
# With B-frames and irregular times a seek can land on the keyframe after its target, then it aims
# earlier; a file with a poor index needs more.
_SECONDS_EARLY = (0, 1, 4, 16)


def open_container(path: Path | str) -> Any:
    """The file as a container of the kinds we accept; raises NotAFilm."""
    with open(path, "rb") as file:
        start = file.read(SNIFF_BYTES)
    if not start:
        raise NotAFilm(EMPTY)
    if sniff(start) is None:
        raise NotAFilm(WRONG_TYPE)
    options = {
        "format_whitelist": FORMATS,
        "protocol_whitelist": "file",
        "max_pixels": str(MAX_PIXELS),
    }
    try:
        return av.open(f"file:{path}", options=options, metadata_errors="ignore")
    except MemoryError as error:
        raise NotAFilm(TOO_LARGE, str(error)) from error
    except (av.error.FFmpegError, ValueError) as error:
        raise NotAFilm(UNREADABLE, str(error)) from error


def picture_stream(container: Any) -> Any:
    """The film's own picture: cover art of a song is not one."""
    for stream in container.streams.video:
        if stream.codec_context is None or stream.disposition & stream.disposition.attached_pic:
            continue
        return stream
    raise NotAFilm(NO_PICTURE if container.streams.audio else UNREADABLE)


def sound_stream(container: Any) -> Any | None:
    """The first sound we have a decoder for."""
    for stream in container.streams.audio:
        if stream.codec_context is not None and stream.codec_context.sample_rate:
            return stream
    return None


def decode(container: Any, stream: Any) -> Iterator[Any]:
    """Frames in the order shown. What is damaged is passed over; what is cut off ends the film."""
    begun = False
    with suppress(av.error.InvalidDataError, av.error.EOFError, av.error.OSError):
        for packet in container.demux(stream):
            for frame in _frames_of(packet, begun=begun):
                begun = True
                yield frame


def _frames_of(packet: Any, *, begun: bool) -> list[Any]:
    try:
        return list(packet.decode())
    except MemoryError as error:
        raise NotAFilm(TOO_LARGE, str(error)) from error
    except av.error.ArgumentError as error:
        # The decoder's word for a picture beyond max_pixels.
        if not begun:
            raise NotAFilm(TOO_LARGE, str(error)) from error
        return []
    except av.error.FFmpegError:
        return []


class FilmReader:
    """One film, open for reading. `threads` is "SLICE" for single frames, "AUTO" for long runs."""

    def __init__(
        self, path: Path | str, *, threads: str = "SLICE", most_threads: int = MAX_THREADS
    ) -> None:
        self.path = Path(path)
        self._threads = threads
        # Each decoding thread holds pictures of its own; many cores must not cost much memory.
        self._count = min(most_threads, os.cpu_count() or 1)
        self._open()
        try:
            self.first = self._first_frame()
        except BaseException:
            self.container.close()
            raise
        self.time_base: Fraction = self.stream.time_base

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.container.close()

    def time_of(self, frame: Any) -> Fraction:
        """Seconds from the film's first frame."""
        return Fraction(int(frame.pts) - int(self.first.pts)) * self.time_base

    def pts_at(self, ms: int) -> int:
        """The latest time stamp a frame on screen at `ms` can have."""
        return int(self.first.pts + Fraction(ms, 1000) // self.time_base)

    def frames(self) -> Iterator[Any]:
        """Every frame from the first on, each later than the one before."""
        self._restart()
        last = None
        for frame in decode(self.container, self.stream):
            if frame.pts is not None and (last is None or frame.pts > last):
                last = frame.pts
                yield frame

    def frames_from(self, pts: int) -> Iterator[Any]:
        """Frames from a keyframe at or before `pts` on; past the end: from one near the end."""
        for last_known in (False, True):
            if last_known:
                pts = min(pts, self.last_pts()[0])
            for seconds in _SECONDS_EARLY:
                run = self._run(pts - int(seconds / self.time_base), pts)
                if (frame := next(run, None)) is not None:
                    yield frame
                    yield from run
                    return
        yield from self.frames()

    def tail(self, pts: int) -> Iterator[Any]:
        """What the file's index leads to for `pts`, nothing where the file is cut off before."""
        with suppress(av.error.FFmpegError):
            self.container.seek(pts, stream=self.stream, backward=True, any_frame=False)
            yield from (
                frame for frame in decode(self.container, self.stream) if frame.pts is not None
            )

    def last_pts(self) -> tuple[int, int]:
        """Last time stamp and number of the picture's packets, by reading all of the file."""
        self._restart()
        last, count = self.first.pts, 0
        with suppress(av.error.FFmpegError):
            for packet in self.container.demux(self.stream):
                if packet.size and packet.pts is not None:
                    last, count = max(last, packet.pts), count + 1
        return last, count

    def _run(self, aim: int, limit: int) -> Iterator[Any]:
        # What a decoder gives before its first keyframe may be broken.
        frames = dropwhile(lambda frame: not frame.key_frame, self.tail(aim))
        first = next(frames, None)
        if first is not None and first.pts <= limit:
            yield first
            yield from frames

    def _first_frame(self) -> Any:
        for frame in decode(self.container, self.stream):
            if frame.pts is not None:
                return frame
        raise NotAFilm(UNREADABLE, "no frame could be decoded")

    def _restart(self) -> None:
        self.container.close()
        self._open()

    def _open(self) -> None:
        self.container = open_container(self.path)
        try:
            self.stream = picture_stream(self.container)
        except NotAFilm:
            self.container.close()
            raise
        context = self.stream.codec_context
        context.options = {"max_pixels": str(MAX_PIXELS)}
        context.thread_type = self._threads
        context.thread_count = self._count
