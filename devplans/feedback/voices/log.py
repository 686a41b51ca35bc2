"""What the film did while the coach talked: it played, stood still, jumped, and was drawn on. Pure.

A log is a JSON list in the order of `at`, which counts milliseconds of sound from the beginning:

    {"at": 0, "film_ms": 61200, "rate": 1}         from here on the film runs from 61.2 s, at speed
    {"at": 2500, "film_ms": 63700, "rate": 0}      it stands still (a pause, or a jump while paused)
    {"at": 4000, "film_ms": 60000, "rate": 0.5}    it runs again, from elsewhere, at half speed
    {"at": 2700, "until": 3300, "shape": {...}}    a shape of `drawings.shapes`, drawn in that time
    {"at": 4000, "clear": true}                    nothing is drawn any more
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from devplans.feedback.drawings.shapes import BadDrawing, Shape, parsed

MOST_ENTRIES = 20_000
LONGEST_MS = 4 * 3_600_000
LONGEST_FILM_MS = 24 * 3_600_000
FASTEST = 4.0


class BadLog(ValueError):
    """Why something is no log."""


@dataclass(frozen=True)
class Stretch:
    """From `at_ms` of the sound on, the film runs from `film_ms` at `rate` times its speed. Where a
    log was cut, film_ms may lie between two milliseconds; it is written as a whole one."""

    at_ms: int
    film_ms: float
    rate: float


@dataclass(frozen=True)
class Stroke:
    """A shape that was drawn between two times of the sound; `gone_ms` is when it was wiped off,
    None if it stayed."""

    at_ms: int
    until_ms: int
    shape: Shape
    gone_ms: int | None = None


@dataclass(frozen=True)
class Log:
    stretches: tuple[Stretch, ...]
    strokes: tuple[Stroke, ...] = ()

    def film_at(self, sound_ms: int) -> int:
        """Where the film was at that time of the sound, in its milliseconds; before the first entry
        where that one says, 0 in a log without any."""
        return max(0, round(self._film_at(sound_ms)))

    def _film_at(self, sound_ms: int) -> float:
        index = bisect_right(self.stretches, sound_ms, key=lambda one: one.at_ms) - 1
        if index < 0:
            return self.stretches[0].film_ms if self.stretches else 0
        here = self.stretches[index]
        return here.film_ms + (sound_ms - here.at_ms) * here.rate

    def film_span(self, start_ms: int, end_ms: int) -> tuple[int, int]:
        """The first and the last film time that were on screen in that stretch of the sound."""
        inside = [one for one in self.stretches if start_ms < one.at_ms <= end_ms]
        seen = [self.film_at(start_ms), self.film_at(end_ms)]
        for one in inside:
            seen += [self.film_at(one.at_ms - 1), round(one.film_ms)]
        return min(seen), max(seen)

    def cut(self, start_ms: int, end_ms: int) -> "Log":
        """That stretch of the sound as a log of its own, which begins at 0. Strokes that were on
        screen when it began are there from its beginning."""
        stretches = [Stretch(0, self._film_at(start_ms), self._rate_at(start_ms))]
        for one in self.stretches:
            if start_ms < one.at_ms < end_ms:
                stretches.append(Stretch(one.at_ms - start_ms, one.film_ms, one.rate))
        strokes = []
        for stroke in self.strokes:
            gone = stroke.gone_ms
            if stroke.at_ms < end_ms and (gone is None or gone > start_ms):
                left = None if gone is None or gone >= end_ms else gone - start_ms
                at, until = (max(0, ms - start_ms) for ms in (stroke.at_ms, stroke.until_ms))
                strokes.append(Stroke(at, until, stroke.shape, left))
        return Log(tuple(stretches), tuple(strokes))

    def _rate_at(self, sound_ms: int) -> float:
        index = bisect_right(self.stretches, sound_ms, key=lambda one: one.at_ms) - 1
        return self.stretches[index].rate if index >= 0 else 0.0


def read_log(value: Any) -> Log:
    """`value`, as JSON gave it, as a log. Raises BadLog where it is none."""
    if not isinstance(value, list) or len(value) > MOST_ENTRIES:
        raise BadLog("form")
    stretches: list[Stretch] = []
    strokes: list[Stroke] = []
    last = 0
    for entry in value:
        if not isinstance(entry, dict):
            raise BadLog("form")
        at = _whole(entry.get("at"), LONGEST_MS)
        if at < last:
            raise BadLog("order")
        last = at
        if "shape" in entry:
            until = max(at, _whole(entry.get("until", at), LONGEST_MS))
            strokes.append(Stroke(at, until, _shape(entry["shape"])))
        elif entry.get("clear"):
            # What was begun in this very millisecond was never to be seen.
            strokes = [_wiped(one, at) for one in strokes if one.gone_ms or one.at_ms < at]
        else:
            film_ms = _whole(entry.get("film_ms"), LONGEST_FILM_MS)
            stretches.append(Stretch(at, film_ms, _rate(entry.get("rate"))))
    return Log(tuple(stretches), tuple(strokes))


def written(log: Log) -> list[dict[str, Any]]:
    """The JSON list that `read_log` reads as that log."""
    entries: list[dict[str, Any]] = [
        {"at": one.at_ms, "film_ms": round(one.film_ms), "rate": one.rate} for one in log.stretches
    ]
    entries += [{"at": one.at_ms, "until": one.until_ms, "shape": one.shape} for one in log.strokes]
    wiped = sorted({one.gone_ms for one in log.strokes if one.gone_ms is not None})
    entries += [{"at": at, "clear": True} for at in wiped]
    return sorted(entries, key=lambda entry: (entry["at"], "shape" in entry))


def _wiped(stroke: Stroke, at: int) -> Stroke:
    if stroke.gone_ms is not None:
        return stroke
    return Stroke(stroke.at_ms, min(stroke.until_ms, at), stroke.shape, at)


def _whole(value: Any, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise BadLog("time")
    return value


def _rate(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= FASTEST:
        raise BadLog("rate")
    return float(value)


def _shape(value: Any) -> Shape:
    try:
        return _only(parsed([value]))
    except BadDrawing as error:
        raise BadLog("shape") from error


def _only(shapes: Sequence[Shape]) -> Shape:
    if len(shapes) != 1:
        raise BadLog("shape")
    return shapes[0]
