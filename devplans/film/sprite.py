"""Small pictures of a film for the line under it, many on one sheet: `draw(playable, folder)`.

Of our own playable copy only: its keyframes lie two seconds apart at most.
"""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from PIL import Image

from devplans.film.picture import Upright, fitted
from devplans.film.reading import FilmReader

WIDTH, HEIGHT = 160, 160
COLUMNS = 10
ON_A_SHEET = 200
MOST = 600
_KEY_EVERY_MS = 2_000
_QUALITY = 70


def every_ms(duration_ms: int) -> int:
    """How far apart the pictures are: whole keyframe distances, `MOST` pictures at most."""
    return _KEY_EVERY_MS * max(1, -(-duration_ms // (_KEY_EVERY_MS * MOST)))


def draw(
    playable: Path | str, folder: Path, *, on_progress: Callable[[float], None] | None = None
) -> dict[str, Any]:
    """Write `sheet-0.jpg` and on into `folder`, and say how the pictures lie on them.

    Picture `n` is on screen at n * every_ms or up to two seconds before; it lies on sheet
    n // on_a_sheet, in rows of `columns`.
    """
    with FilmReader(playable) as film:
        size = fitted((film.first.width, film.first.height), long_side=WIDTH, short_side=HEIGHT)
        upright = Upright(size, pixels="rgb24", turns=0)
        duration_ms = max(1, film.container.duration // 1000)
        step = every_ms(duration_ms)
        count = -(-duration_ms // step)
        sheet: list[Any] = []
        for number, frame in enumerate(_keyframes(film, count, step), start=1):
            sheet.append(upright.picture(frame).to_image())
            if len(sheet) == ON_A_SHEET or number == count:
                name = f"sheet-{(number - 1) // ON_A_SHEET}.jpg"
                _paste(sheet, size).save(folder / name, "JPEG", quality=_QUALITY)
                sheet = []
            if on_progress:
                on_progress(number / count)
    return {
        "every_ms": step,
        "count": count,
        "width": size[0],
        "height": size[1],
        "columns": COLUMNS,
        "on_a_sheet": ON_A_SHEET,
        "sheets": -(-count // ON_A_SHEET),
    }


def _keyframes(film: FilmReader, count: int, step_ms: int) -> Iterator[Any]:
    """The keyframe at or before each moment; the last one again where there is no further."""
    found = film.first
    context = film.stream.codec_context
    for number in range(count):
        if number:
            target = film.pts_at(number * step_ms)
            film.container.seek(target, stream=film.stream, backward=True)
            context.flush_buffers()
            found = next(_decoded(film), found)
        yield found


def _decoded(film: FilmReader) -> Iterator[Any]:
    for packet in film.container.demux(film.stream):
        yield from packet.decode()


def _paste(pictures: list[Any], size: tuple[int, int]) -> Image.Image:
    width, height = size
    rows = -(-len(pictures) // COLUMNS)
    columns = min(COLUMNS, len(pictures))
    sheet = Image.new("RGB", (width * columns, height * rows))
    for number, picture in enumerate(pictures):
        sheet.paste(picture, (number % COLUMNS * width, number // COLUMNS * height))
    return sheet
