"""Turn decoded frames into upright pictures of a wanted size and pixel format."""

import re
from contextlib import ExitStack
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import av
import av.filter

from devplans.film import hdr

_BT709, _UNKNOWN = 1, 2
_HD_LINES = 720
_MATRICES = {1: "bt709", 4: "fcc", 5: "bt601", 6: "bt601", 7: "smpte240m", 9: "bt2020"}


def turns_of(frame: Any) -> int:
    """Quarter turns clockwise that set the frame upright: 0 to 3."""
    return int(round(-frame.rotation / 90) % 4)


def is_hdr(frame: Any) -> bool:
    return int(frame.color_trc) in {hdr.HLG, hdr.PQ}


def upright_size(frame: Any, pixel_aspect: Fraction | None) -> tuple[int, int]:
    """Width and height as seen on screen: square pixels, the right way up."""
    width, height = frame.width, frame.height
    # Cameras use shapes near the square; a wild one would only blow the picture up.
    if pixel_aspect and Fraction(1, 2) <= pixel_aspect <= 2:
        width = max(1, round(width * pixel_aspect))
    return (height, width) if turns_of(frame) % 2 else (width, height)


def fitted(size: tuple[int, int], *, long_side: int, short_side: int) -> tuple[int, int]:
    """The largest even size of the same shape in the box, whichever way it lies; never larger."""
    share = min(
        Fraction(1),
        Fraction(long_side, max(size)),
        Fraction(short_side, min(size)),
    )
    width, height = (max(2, int(side * share) // 2 * 2) for side in size)
    return width, height


def inside(size: tuple[int, int], box: tuple[int, int]) -> tuple[int, int]:
    """The largest even size of the same shape in a box that lies as it does."""
    share = min(Fraction(box[0], size[0]), Fraction(box[1], size[1]))
    width, height = (max(2, int(side * share) // 2 * 2) for side in size)
    return width, height


def matrix_of(frame: Any) -> str:
    """How players take the frame's colours, as the scaling filter calls it."""
    if int(frame.colorspace) == _UNKNOWN:
        return "bt709" if frame.height >= _HD_LINES else "bt601"
    return "bt709" if is_hdr(frame) else _MATRICES.get(int(frame.colorspace), "bt709")


class Upright:
    """Filter for the frames of one film: `picture(frame)` is upright, of `size` and `pixels`.

    A frame that differs from the one before in shape or colour gets a filter of its own; the
    result always has the same size. With a `canvas` it lies in the middle of that, black around.
    `matrix` is the one that colours are brought to; None leaves them in their own.
    """

    def __init__(
        self,
        size: tuple[int, int],
        *,
        pixels: str,
        turns: int,
        canvas: tuple[int, int] | None = None,
        matrix: str | None = None,
    ) -> None:
        self._size = size
        self._pixels = pixels
        self._turns = turns
        self._canvas = canvas
        self._matrix = matrix
        self._key: tuple[object, ...] | None = None
        self._graph: Any = None

    def picture(self, frame: Any) -> Any:
        key = (
            frame.width,
            frame.height,
            frame.format.name,
            int(frame.colorspace),
            int(frame.color_range),
            int(frame.color_trc),
        )
        if key != self._key:
            self._graph = self._build(frame)
            self._key = key
        self._graph.push(frame)
        picture = self._graph.pull()
        if is_hdr(frame):
            picture.color_trc = picture.color_primaries = _BT709
        return picture

    def _build(self, frame: Any) -> Any:
        graph = av.filter.Graph()
        source = (
            f"video_size={frame.width}x{frame.height}:pix_fmt={frame.format.name}"
            f":time_base=1/1000:pixel_aspect=1/1:colorspace={int(frame.colorspace)}"
            f":range={int(frame.color_range)}"
        )
        steps = [graph.add("buffer", source)]
        with ExitStack() as files:
            scale = self._scale(frame)
            wanted = (
                _toned(frame, files, scale, self._matrix or "bt709")
                if is_hdr(frame)
                else [("scale", scale)]
            )
            turned = [*wanted, ("format", self._pixels), *_TURNS[self._turns]]
            for name, value in [*turned, *self._padding()]:
                steps.append(graph.add(name, value))
            steps.append(graph.add("buffersink"))
            for one, following in pairwise(steps):
                one.link_to(following)
            graph.configure()
        return graph

    def _padding(self) -> list[tuple[str, str | None]]:
        if self._canvas is None or self._canvas == self._size:
            return []
        left, top = (
            (whole - part) // 4 * 2 for whole, part in zip(self._canvas, self._size, strict=True)
        )
        return [("pad", f"{self._canvas[0]}:{self._canvas[1]}:{left}:{top}:black")]

    def _scale(self, frame: Any) -> str:
        width, height = self._size[::-1] if self._turns % 2 else self._size
        scale = f"{width}:{height}:flags=bicubic"
        is_rgb = frame.format.is_rgb
        if self._pixels != "rgb24" and not is_hdr(frame):
            scale += ":out_range=tv"
            if is_rgb or self._matrix:
                scale += f":out_color_matrix={self._matrix or 'bt709'}"
            if self._matrix and not is_rgb:
                scale += f":in_color_matrix={matrix_of(frame)}"
        elif not is_rgb and int(frame.colorspace) == _UNKNOWN and frame.height >= _HD_LINES:
            # Players take untagged HD for BT.709; the filter's own guess would shift the colours.
            scale += ":in_color_matrix=bt709"
        return scale


def _toned(frame: Any, files: ExitStack, scale: str, matrix: str) -> list[tuple[str, str | None]]:
    """Scaled first, so that the table has fewer points to look up."""
    folder = files.enter_context(TemporaryDirectory())
    table = Path(folder) / "colours.cube"
    table.write_text(hdr.cube(int(frame.color_trc)))
    named = re.sub(r"([\\':])", r"\\\1", str(table))
    return [
        ("scale", scale),
        ("format", "gbrp10le"),
        ("lut3d", f"file={named}"),
        ("scale", f"out_color_matrix={matrix}:out_range=tv"),
    ]


_TURNS: dict[int, list[tuple[str, str | None]]] = {
    0: [],
    1: [("transpose", "clock")],
    2: [("hflip", None), ("vflip", None)],
    3: [("transpose", "cclock")],
}
