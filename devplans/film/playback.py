"""A film as it was on screen while somebody talked over it: it ran, stood still, jumped, was slow,
and was drawn on. Out comes a clip like all others, its sound the voice.

`play_back(source, out, sound=, stretches=, layers=, length_ms=)`: every frame that is written shows
the film's frame, and the drawing, of its own middle. So a change comes at most half a frame early
or late, and a stretch shorter than a frame may be passed over.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import Any

import av

from devplans.film.encode import LONG_SIDE, SHORT_SIDE, Form, Pictures, sound_track
from devplans.film.overlay import Box, Drawn, Source
from devplans.film.picture import Upright, fitted, turns_of, upright_size
from devplans.film.probe import rate_of
from devplans.film.reading import FilmReader
from devplans.film.sound import Sound

LONGEST_MS = 60_000
MOST_FPS, FEWEST_FPS = 30, 25
# Further ahead it is quicker to go there by the film's index: keyframes lie two seconds apart.
_DECODED_AHEAD_S = 2

# at_ms of the sound, film_ms, and how much faster than the sound the film runs.
Stretch = tuple[int, int, float]
# at_ms of the sound, the SVG that lies over the film from then on, "" for none, and where in the
# frame all of it lies.
Layer = tuple[int, str, Box | None]
Progress = Callable[[float], None]


def frame_rate(film_rate: Fraction) -> Fraction:
    """Frames a second of the clip: the film's own, or half of it and so on, 25 at least."""
    rate = film_rate
    while rate > MOST_FPS:
        rate /= 2
    return max(rate, Fraction(FEWEST_FPS)).limit_denominator(1001)


class Course:
    """Where the film was at each moment of the sound."""

    def __init__(self, stretches: Sequence[Stretch]) -> None:
        self._stretches = [(Fraction(at), film, Fraction(rate)) for at, film, rate in stretches]

    def film_s(self, sound_s: Fraction) -> Fraction:
        """Seconds of the film; before the first stretch those of its beginning, 0 without any."""
        ms = sound_s * 1000
        index = bisect_right(self._stretches, ms, key=lambda one: one[0]) - 1
        if not self._stretches:
            return Fraction(0)
        at, film, rate = self._stretches[max(0, index)]
        return max(Fraction(0), film + max(Fraction(0), ms - at) * rate) / 1000


class Frames:
    """The frame on screen at any time of a film; cheap where times follow each other."""

    def __init__(self, film: FilmReader) -> None:
        self._film = film
        self._run: Iterator[Any] = iter(())
        self._shown: Any = None
        self._ahead: Any = None

    def at(self, time: Fraction) -> Any:
        """The last frame that begins by `time`, in seconds; the film's last one past its end."""
        if not self._is_near(time):
            self._go_to(time)
        while self._ahead is not None and self._film.time_of(self._ahead) <= time:
            self._shown, self._ahead = self._ahead, self._later(self._ahead)
        return self._shown

    def _is_near(self, time: Fraction) -> bool:
        if self._shown is None or time < self._film.time_of(self._shown):
            return False
        if self._ahead is None:
            return True
        return time - self._film.time_of(self._ahead) <= _DECODED_AHEAD_S

    def _go_to(self, time: Fraction) -> None:
        self._run = self._film.frames_from(self._film.pts_at(int(time * 1000)))
        self._shown = next(self._run)
        self._ahead = self._later(self._shown)

    def _later(self, than: Any) -> Any:
        return next((frame for frame in self._run if frame.pts > than.pts), None)


class _Kept:
    """Upright pictures; that of the frame before is kept."""

    def __init__(self, upright: Source) -> None:
        self._upright = upright
        self._last: tuple[Any, Any] = (None, None)

    def picture(self, frame: Any) -> Any:
        if frame is not self._last[0]:
            self._last = (frame, self._upright.picture(frame))
        return self._last[1]


class Scene:
    """Upright pictures with the drawing of the moment; what did not change is not made again."""

    def __init__(self, upright: Source) -> None:
        self._upright = _Kept(upright)
        self._svg = ""
        self._kept: _Kept = self._upright

    def draw(self, svg: str, box: Box | None = None) -> None:
        """From now on `svg`, which lies in `box`, lies over the pictures."""
        if svg != self._svg:
            self._svg = svg
            drawn = Drawn(self._upright, svg, box)
            drawn.is_shown = True
            self._kept = _Kept(drawn) if svg else self._upright

    def picture(self, frame: Any) -> Any:
        return self._kept.picture(frame)


class _Layers:
    """What is drawn as time goes on; the layers are read one by one, there may be many."""

    def __init__(self, layers: Iterable[Layer]) -> None:
        self._layers = iter(layers)
        self._next = next(self._layers, None)
        self._now: tuple[str, Box | None] = ("", None)

    def at(self, sound_s: Fraction) -> tuple[str, Box | None]:
        while self._next is not None and self._next[0] <= sound_s * 1000:
            self._now = self._next[1:]
            self._next = next(self._layers, None)
        return self._now


def play_back(
    source: Path | str,
    out: Path | str,
    *,
    sound: Path | str,
    stretches: Sequence[Stretch],
    layers: Iterable[Layer] = (),
    length_ms: int,
    on_progress: Progress | None = None,
) -> int:
    """Write the clip, at most 60 s and 720p; returns its length in milliseconds.

    sound: the voice, whose first sample is time 0. stretches, layers: in the order of their times.
    The film's own sound is left out.
    """
    length = Fraction(min(length_ms, LONGEST_MS), 1000)
    course, drawing = Course(stretches), _Layers(layers)
    with FilmReader(source, threads="AUTO") as film:
        form = _form(film)
        scene = Scene(Upright(form.size, pixels="yuv420p", turns=turns_of(film.first)))
        frames = Frames(film)
        count = max(1, -int(-length * form.rate // 1))
        with (
            closing(Sound(sound, Fraction(0))) as voice,
            _Writer(out, form, scene, film.first, voice) as writer,
        ):
            for number in range(count):
                middle = (number + Fraction(1, 2)) / form.rate
                scene.draw(*drawing.at(middle))
                writer.add(frames.at(course.film_s(middle)), number)
                if on_progress:
                    on_progress(number / count)
            writer.finish(length)
    return round(length * 1000)


def _form(film: FilmReader) -> Form:
    own = upright_size(film.first, film.stream.sample_aspect_ratio)
    rate = frame_rate(rate_of(film))
    return Form(fitted(own, long_side=LONG_SIDE, short_side=SHORT_SIDE), rate, 1 / rate)


class _Writer:
    """An MP4 of evenly spaced frames with a sound of its own."""

    def __init__(self, out: Path | str, form: Form, scene: Scene, first: Any, voice: Sound) -> None:
        self._form = form
        self._voice = voice
        self._container = av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"})
        self._pictures = Pictures(self._container, form, scene, first=first)
        self._audio = sound_track(self._container) if voice.is_heard else None

    def __enter__(self) -> "_Writer":
        return self

    def __exit__(self, *_error: object) -> None:
        self._container.close()

    def add(self, frame: Any, number: int) -> None:
        self._container.mux(self._pictures.packets(frame, number))
        self._add_sound(number * self._form.time_base)

    def finish(self, end_s: Fraction) -> None:
        self._add_sound(end_s)
        self._container.mux(self._pictures.rest())
        if self._audio is not None:
            self._container.mux(self._audio.encode(None))

    def _add_sound(self, until_s: Fraction) -> None:
        if self._audio is not None:
            for block in self._voice.until(until_s):
                self._container.mux(self._audio.encode(block))
