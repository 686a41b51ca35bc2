"""The playable copy of a film, and clips out of it: H.264 and AAC in MP4 that any browser plays.

`cut_clip(source, out, start_ms=, end_ms=)` keeps the frames of a span, its first one at 0. The
copy of a whole film is made piece by piece in devplans.film.segments, with the `Pictures` of here.
"""

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import av
import av.video.frame

from devplans.film.facts import MOST_FPS
from devplans.film.overlay import Drawn, Source
from devplans.film.picture import Upright, fitted, turns_of, upright_size
from devplans.film.probe import end_of, rate_of
from devplans.film.reading import MAX_THREADS, FilmReader
from devplans.film.sound import LAYOUT, RATE, Sound

LONG_SIDE, SHORT_SIDE = 1280, 720
CLIP_MAX_MS = 30_000
# How long a clip stands still under its drawing. The arrows mean that one frame: a second later the
# players have left them, and in a clip that plays over and over a flash is gone before it is read.
HOLD_MS = 1_500
_HELD_FPS = 25
_KEY_EVERY_S = 2
_X264 = {
    "preset": "veryfast",
    "crf": "23",
    "maxrate": "4M",
    "bufsize": "8M",
    "bf": "0",
    "forced-idr": "1",
    "profile": "high",
}

Progress = Callable[[float], None]


@dataclass(frozen=True)
class Form:
    """How the pictures of a copy are written: the same for all of its pieces."""

    size: tuple[int, int]
    rate: Fraction
    time_base: Fraction

    @classmethod
    def of(cls, film: FilmReader, time_base: Fraction | None = None) -> Self:
        own_size = upright_size(film.first, film.stream.sample_aspect_ratio)
        size = fitted(own_size, long_side=LONG_SIDE, short_side=SHORT_SIDE)
        rate = min(rate_of(film), Fraction(MOST_FPS)).limit_denominator(1001)
        return cls(size, rate, time_base or film.time_base)


class Pictures:
    """The picture stream of an MP4 under way. Frames are given in order, a keyframe first."""

    def __init__(
        self,
        container: Any,
        form: Form,
        upright: Source,
        *,
        first: Any,
        threads: int = MAX_THREADS,
    ) -> None:
        """first: the film's first frame, which says what its colours mean."""
        self._form = form
        self._upright = upright
        self._next_key = Fraction(0)
        self._stream = container.add_stream("libx264", rate=form.rate)
        self._stream.width, self._stream.height = form.size
        self._stream.pix_fmt = "yuv420p"
        self._stream.options = {**_X264, "g": str(max(1, round(form.rate * _KEY_EVERY_S)))}
        context = self._stream.codec_context
        context.thread_count = threads
        # On the codec, not on the stream: otherwise the encoder refuses the source's time stamps.
        context.time_base = form.time_base
        meant = upright.picture(first)
        context.color_range, context.colorspace = meant.color_range, meant.colorspace
        context.color_primaries, context.color_trc = meant.color_primaries, meant.color_trc

    def packets(self, frame: Any, pts: int) -> Any:
        """What the encoder gives for the next frame, which is to be shown at `pts`."""
        picture = self._upright.picture(frame)
        picture.pts = pts
        picture.time_base = self._form.time_base
        picture.pict_type = av.video.frame.PictureType.NONE
        time = pts * self._form.time_base
        if time >= self._next_key:
            picture.pict_type = av.video.frame.PictureType.I
            self._next_key = time + _KEY_EVERY_S
        return self._stream.encode(picture)

    def rest(self) -> Any:
        return self._stream.encode(None)


class FilmWriter:
    """An MP4 under way. Pictures and sound are given in order; the first picture lies at 0."""

    def __init__(
        self, out: Path | str, film: FilmReader, *, base: int, sound: Sound, drawing: str = ""
    ) -> None:
        self._base = base
        self._held = 0
        self._time_base = film.time_base
        self._sound = sound
        self._container = av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"})
        form = Form.of(film)
        upright = Upright(form.size, pixels="yuv420p", turns=turns_of(film.first))
        self._drawn = Drawn(upright, drawing)
        self._pictures = Pictures(self._container, form, self._drawn, first=film.first)
        self._audio = sound_track(self._container) if sound.is_heard else None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._container.close()

    def add(self, frame: Any) -> None:
        """Append the picture, and the sound up to it."""
        pts = frame.pts - self._base + self._held
        self._container.mux(self._pictures.packets(frame, pts))
        self._add_sound(pts * self._time_base)

    def hold(self, frame: Any, length_s: Fraction) -> None:
        """Append the picture with the drawing on it, standing still in silence for so long; all
        that is added afterwards comes so much later."""
        pts = frame.pts - self._base + self._held
        self._add_sound(pts * self._time_base)
        length = round(length_s / self._time_base)
        self._drawn.is_shown = True
        for later in range(0, length, max(1, round(Fraction(1, _HELD_FPS) / self._time_base))):
            self._container.mux(self._pictures.packets(frame, pts + later))
        self._drawn.is_shown = False
        if self._audio is not None:
            for block in self._sound.hold(length * self._time_base):
                self._container.mux(self._audio.encode(block))
        self._held += length

    def finish(self, end_s: Fraction) -> None:
        """Write what is still held back; the sound stops with the last picture.

        end_s: where the last picture ends, not counting what was held.
        """
        self._add_sound(end_s + self._held * self._time_base)
        self._container.mux(self._pictures.rest())
        if self._audio is not None:
            self._container.mux(self._audio.encode(None))

    def _add_sound(self, until_s: Fraction) -> None:
        if self._audio is not None:
            for block in self._sound.until(until_s):
                self._container.mux(self._audio.encode(block))


def sound_track(container: Any) -> Any:
    return container.add_stream("aac", rate=RATE, layout=LAYOUT, bit_rate=128_000)


def cut_clip(
    source: Path | str,
    out: Path | str,
    *,
    start_ms: int,
    end_ms: int,
    drawing: str = "",
    drawn_ms: int = 0,
) -> int:
    """Write the frames with start <= time < end as a film of its own, at most 30 s and 720p.

    Times count from the source's first frame. A span between two frames gives the one on screen.
    With a drawing (SVG of our own) the frame on screen at `drawn_ms` stands for HOLD_MS under it.
    Returns the clip's length in milliseconds.
    """
    hold = Fraction(HOLD_MS if drawing else 0, 1000)
    end_ms = min(end_ms, start_ms + CLIP_MAX_MS - round(hold * 1000))
    with FilmReader(source, threads="AUTO") as film:
        frames = _span(film, start_ms, end_ms)
        first = next(frames)
        with (
            closing(Sound(source, first.pts * film.time_base, seek=True)) as sound,
            FilmWriter(out, film, base=first.pts, sound=sound, drawing=drawing) as writer,
        ):
            last = first
            for last, following in _with_next(first, frames):
                if hold and (following is None or film.time_of(following) * 1000 > drawn_ms):
                    writer.hold(last, hold)
                    hold = Fraction(0)
                writer.add(last)
            start = film.time_of(first)
            end = min(end_of(film, last), max(start, Fraction(end_ms, 1000)))
            writer.finish(end - start)
        return round((end - start) * 1000) + (HOLD_MS if drawing else 0)


def _with_next(first: Any, others: Iterator[Any]) -> Iterator[tuple[Any, Any | None]]:
    """Each frame with the one after it."""
    for following in others:
        yield first, following
        first = following
    yield first, None


def _span(film: FilmReader, start_ms: int, end_ms: int) -> Iterator[Any]:
    start, end = Fraction(start_ms, 1000), Fraction(end_ms, 1000)
    shown, last = film.first, None
    for frame in film.frames_from(film.pts_at(start_ms)):
        time = film.time_of(frame)
        if time >= end:
            break
        if time < start:
            shown = frame
        elif last is None or frame.pts > last:
            last = frame.pts
            yield frame
    if last is None:
        yield shown
