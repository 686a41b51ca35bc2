"""What an uploaded film is: `probe(path) -> Probe`, and `sniff(first_bytes)` for a quick look.

Lengths count the frames that can really be decoded, not what the file says of itself.
"""

from fractions import Fraction
from pathlib import Path
from typing import Any

from devplans.film.facts import Probe, sniff
from devplans.film.faults import TOO_LONG, TOO_SHORT, NotAFilm, ends_early_text
from devplans.film.picture import is_hdr, turns_of, upright_size
from devplans.film.reading import FilmReader, sound_stream
from devplans.film.stills import frame_at

__all__ = ["MAX_DURATION_S", "MIN_DURATION_S", "Probe", "ms_of", "probe", "sniff"]

MIN_DURATION_S = 1
MAX_DURATION_S = 24 * 3600
_MISSING_S = 1


def probe(path: Path | str) -> Probe:
    """Look at a film; raises NotAFilm with a reason for the person who uploaded it."""
    with FilmReader(path) as film:
        announced = announced_s(film)
        if announced > MAX_DURATION_S:
            raise NotAFilm(TOO_LONG)
        has_audio = sound_stream(film.container) is not None
        end, frames = _readable(film, announced)
        return described(film, end=end, frames=frames, announced=announced, has_audio=has_audio)


def require_a_second(path: Path | str) -> None:
    """A first look that costs little whatever the file is; raises NotAFilm."""
    with FilmReader(path) as film:
        if announced_s(film) > MAX_DURATION_S:
            raise NotAFilm(TOO_LONG)
        if not any(end_of(film, frame) >= MIN_DURATION_S for frame in film.frames()):
            raise NotAFilm(TOO_SHORT)


def described(
    film: FilmReader, *, end: Fraction, frames: int, announced: Fraction, has_audio: bool
) -> Probe:
    """The facts of an open film that could be read up to `end`, in seconds from its first frame."""
    if end < MIN_DURATION_S:
        raise NotAFilm(TOO_SHORT)
    if end > MAX_DURATION_S:
        raise NotAFilm(TOO_LONG)
    width, height = upright_size(film.first, film.stream.sample_aspect_ratio)
    ends_early = announced - end > _MISSING_S
    return Probe(
        duration_ms=ms_of(end),
        announced_ms=ms_of(announced),
        width=width,
        height=height,
        rotation=90 * turns_of(film.first),
        has_audio=has_audio,
        codec=film.stream.codec_context.name,
        frames=frames,
        first_pts=film.first.pts,
        time_base=str(film.time_base),
        rate=float(rate_of(film)),
        hdr=is_hdr(film.first),
        problem=ends_early_text(ms_of(end)) if ends_early else "",
    )


def announced_s(film: FilmReader) -> Fraction:
    """The length the file claims for its picture, 0 when it claims none."""
    if film.stream.duration:
        return Fraction(film.stream.duration * film.time_base)
    if film.container.duration:
        return Fraction(film.container.duration, 1_000_000)
    return Fraction(0)


def rate_of(film: FilmReader) -> Fraction:
    """Frames per second on average; 30 where the file's own figure is absurd."""
    rate = film.stream.average_rate or film.stream.guessed_rate
    return Fraction(rate) if rate and 1 <= rate <= 1000 else Fraction(30)


def end_of(film: FilmReader, last: Any) -> Fraction:
    """When the frame `last` leaves the screen, in seconds from the first one."""
    shown = last.duration * film.time_base if last.duration else 1 / rate_of(film)
    return film.time_of(last) + min(shown, Fraction(MAX_DURATION_S))


def ms_of(seconds: Fraction) -> int:
    return round(seconds * 1000)


def _readable(film: FilmReader, announced: Fraction) -> tuple[Fraction, int]:
    """End and number of the frames; all of the file is read only where its index cannot be true."""
    frames = film.stream.frames
    if announced and frames:
        last = _frame_near_end(film, announced)
        if last is not None and announced - (end := end_of(film, last)) <= _MISSING_S:
            return end, frames
    pts, frames = film.last_pts()
    return end_of(film, frame_at(film, pts)), frames


def _frame_near_end(film: FilmReader, announced: Fraction) -> Any | None:
    found = None
    for frame in film.tail(film.pts_at(ms_of(announced - _MISSING_S))):
        found = frame
    return found
