"""The playable copy of a film, and clips out of it: H.264 and AAC in MP4 that any browser plays.

`make_copy(source, out)` keeps the source's frame times, shifted to 0, so that a comment's
milliseconds fit original and copy alike. `cut_clip(source, out, start_ms=, end_ms=)` keeps the
frames of a span, its first one at 0.
"""

from collections.abc import Callable, Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import av
import av.video.frame

from devplans.film.picture import Upright, fitted, turns_of, upright_size
from devplans.film.probe import Probe, announced_s, described, end_of, rate_of
from devplans.film.reading import MAX_THREADS, FilmReader
from devplans.film.sound import LAYOUT, RATE, Sound

LONG_SIDE, SHORT_SIDE = 1280, 720
CLIP_MAX_MS = 30_000
LEAD_MS = 1_000
MOMENT_MS = 3_000
_KEY_EVERY_S = 2
# A camera's 60 is measured as anything up to this.
_MOST_FPS = 61
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


def clip_window(start_ms: int, end_ms: int | None, *, duration_ms: int) -> tuple[int, int]:
    """The span of a comment's clip: a second of lead and tail, three around a single moment.

    Within the film, 30 s at most. `end_ms` is None for a moment.
    """
    lead = MOMENT_MS if end_ms is None else LEAD_MS
    start = max(0, start_ms - lead)
    end = min(duration_ms, (start_ms if end_ms is None else end_ms) + lead)
    return start, max(start + 1, min(end, start + CLIP_MAX_MS))


class FilmWriter:
    """An MP4 under way. Pictures and sound are given in order; the first picture lies at 0."""

    def __init__(self, out: Path | str, film: FilmReader, *, base: int, sound: Sound) -> None:
        self._base = base
        self._time_base = film.time_base
        self._next_key = Fraction(0)
        own_size = upright_size(film.first, film.stream.sample_aspect_ratio)
        size = fitted(own_size, long_side=LONG_SIDE, short_side=SHORT_SIDE)
        self._upright = Upright(size, pixels="yuv420p", turns=turns_of(film.first))
        self._sound = sound
        self._container = av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"})
        self._video = self._video_stream(size, rate_of(film))
        self._audio = (
            self._container.add_stream("aac", rate=RATE, layout=LAYOUT, bit_rate=128_000)
            if sound.is_heard
            else None
        )

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
        picture = self._upright.picture(frame)
        picture.pts = frame.pts - self._base
        picture.time_base = self._time_base
        picture.pict_type = av.video.frame.PictureType.NONE
        time = picture.pts * self._time_base
        if time >= self._next_key:
            picture.pict_type = av.video.frame.PictureType.I
            self._next_key = time + _KEY_EVERY_S
        self._tag_colours(picture)
        self._container.mux(self._video.encode(picture))
        self._add_sound(time)

    def finish(self, end_s: Fraction) -> None:
        """Write what is still held back; the sound stops with the last picture."""
        self._add_sound(end_s)
        self._container.mux(self._video.encode(None))
        if self._audio is not None:
            self._container.mux(self._audio.encode(None))

    def _add_sound(self, until_s: Fraction) -> None:
        if self._audio is not None:
            for block in self._sound.until(until_s):
                self._container.mux(self._audio.encode(block))

    def _video_stream(self, size: tuple[int, int], rate: Fraction) -> Any:
        rate = min(rate, Fraction(_MOST_FPS))
        stream = self._container.add_stream("libx264", rate=rate.limit_denominator(1001))
        stream.width, stream.height = size
        stream.pix_fmt = "yuv420p"
        stream.options = {**_X264, "g": str(max(1, round(rate * _KEY_EVERY_S)))}
        stream.codec_context.thread_count = MAX_THREADS
        # On the codec, not on the stream: otherwise the encoder refuses the source's time stamps.
        stream.codec_context.time_base = self._time_base
        return stream

    def _tag_colours(self, picture: Any) -> None:
        context = self._video.codec_context
        if not context.is_open:
            context.color_range = picture.color_range
            context.colorspace = picture.colorspace
            context.color_primaries = picture.color_primaries
            context.color_trc = picture.color_trc


def make_copy(
    source: Path | str,
    out: Path | str,
    *,
    on_progress: Progress | None = None,
) -> Probe:
    """Write the playable copy: upright, at most 720p, a keyframe every two seconds.

    Above 60 frames per second every second one is kept. A source that is cut off or damaged is
    copied as far as it can be read; the returned facts count the frames that really were. A share
    of 1 is told to `on_progress` when only the file's index is left to be moved.
    """
    with FilmReader(source, threads="AUTO") as film:
        announced = announced_s(film)
        step = 2 if rate_of(film) > _MOST_FPS else 1
        base, last, count = film.first.pts, film.first, 0
        with (
            closing(Sound(source, base * film.time_base)) as sound,
            FilmWriter(out, film, base=base, sound=sound) as writer,
        ):
            for frame in film.frames():
                if count % step == 0:
                    writer.add(frame)
                last, count = frame, count + 1
                if on_progress:
                    on_progress(_share(film.time_of(frame), announced))
            end = end_of(film, last)
            if on_progress:
                on_progress(1.0)
            writer.finish(end)
        return described(film, end=end, frames=count, announced=announced, has_audio=sound.is_heard)


def _share(done: Fraction, announced: Fraction) -> float:
    return float(min(Fraction(1), done / announced)) if announced else 0.0


def cut_clip(source: Path | str, out: Path | str, *, start_ms: int, end_ms: int) -> int:
    """Write the frames with start <= time < end as a film of its own, at most 30 s and 720p.

    Times count from the source's first frame. A span between two frames gives the one on screen.
    Returns the clip's length in milliseconds.
    """
    end_ms = min(end_ms, start_ms + CLIP_MAX_MS)
    with FilmReader(source, threads="AUTO") as film:
        frames = _span(film, start_ms, end_ms)
        first = next(frames)
        with (
            closing(Sound(source, first.pts * film.time_base, seek=True)) as sound,
            FilmWriter(out, film, base=first.pts, sound=sound) as writer,
        ):
            writer.add(first)
            last = first
            for last in frames:
                writer.add(last)
            start = film.time_of(first)
            end = min(end_of(film, last), max(start, Fraction(end_ms, 1000)))
            writer.finish(end - start)
        return round((end - start) * 1000)


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
