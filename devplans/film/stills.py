"""The exact frame on screen at a time of a film, as JPEG: `still(path, ms)`."""

import io
from pathlib import Path
from typing import Any

from devplans.film.picture import Upright, fitted, turns_of, upright_size
from devplans.film.reading import FilmReader

STILL_QUALITY = 90
POSTER_SIDES = {"long_side": 960, "short_side": 540}


def still(path: Path | str, ms: int, *, drawing: str = "") -> bytes:
    """JPEG of the frame on screen at `ms`, upright, at the film's own size.

    drawing: SVG of our own that is laid over it.

    That is the last frame whose time from the first one is <= `ms`: who means a certain frame
    sends its time rounded up to the next millisecond. Past the end it is the last frame.
    """
    with FilmReader(path) as film:
        frame = frame_at(film, film.pts_at(ms))
        size = upright_size(frame, film.stream.sample_aspect_ratio)
        return jpeg(frame, size, drawing=drawing)


def poster(path: Path | str, ms: int) -> bytes:
    """The same at no more than 960x540, for lists."""
    with FilmReader(path) as film:
        frame = frame_at(film, film.pts_at(ms))
        size = upright_size(frame, film.stream.sample_aspect_ratio)
        return jpeg(frame, fitted(size, **POSTER_SIDES))


def frame_at(film: FilmReader, target: int) -> Any:
    """The last frame whose time stamp is <= `target`, in the film's time base; else the first."""
    found = film.first
    if target > found.pts:
        for frame in film.frames_from(target):
            if frame.pts > target:
                break
            found = frame
    return found


def jpeg(frame: Any, size: tuple[int, int], *, drawing: str = "") -> bytes:
    """The frame as an upright JPEG of `size`."""
    image = Upright(size, pixels="rgb24", turns=turns_of(frame)).picture(frame).to_image()
    if drawing:
        from devplans.film.overlay import drawn_on

        image = drawn_on(image, drawing)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=STILL_QUALITY)
    return file.getvalue()
