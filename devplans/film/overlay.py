"""Lay a drawing over upright pictures: RGB ones of stills, and the planes of a clip's frames."""

import io
import re
from typing import Any, Protocol

from av import VideoFrame
from PIL import Image

from devplans.core import render

_BT601, _UNKNOWN = {5, 6}, 2
_HD_LINES = 720
_FULL_RANGE = 2
# Shares of red and blue in the luma, by the frame's own matrix.
_SHARES = {True: (0.299, 0.114), False: (0.2126, 0.0722)}
_HALF = Image.Resampling.BOX


class Source(Protocol):
    """Anything that sets frames upright, such as `Upright`."""

    def picture(self, frame: Any) -> Any: ...


def drawn_on(image: Image.Image, svg: str) -> Image.Image:
    """`image` with the drawing over all of it."""
    layer = _layer(svg, image.size)
    image.paste(layer, mask=layer.getchannel("A"))
    return image


def _layer(svg: str, size: tuple[int, int]) -> Image.Image:
    layer = Image.open(io.BytesIO(render.png(svg, width=size[0], height=size[1])))
    return layer.convert("RGBA")


# Left, top, right and bottom, in fractions of the frame.
Box = tuple[float, float, float, float]
_VIEW = re.compile(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"')


class Drawn:
    """The pictures of `source`, in yuv420p, with a drawing on them while `is_shown`.

    box: where in the frame all of the drawing lies, if that is known: the less the sooner done.
    """

    def __init__(self, source: Source, svg: str, box: Box | None = None) -> None:
        self._source = source
        self._svg = svg
        self._box = box
        self._place = (0, 0)
        self._planes: list[tuple[Image.Image, Image.Image]] = []
        self.is_shown = False

    def picture(self, frame: Any) -> Any:
        picture = self._source.picture(frame)
        return self._with_drawing(picture) if self.is_shown else picture

    def _with_drawing(self, picture: Any) -> Any:
        if not self._planes:
            self._planes = _planes_of(self._layer((picture.width, picture.height)), picture)
        # A picture may be the very one that the decoder still looks back to, so it is copied.
        made = VideoFrame(picture.width, picture.height, "yuv420p")
        for old, new, (ink, mask) in zip(picture.planes, made.planes, self._planes, strict=True):
            plane = Image.frombytes("L", (old.line_size, old.height), bytes(old))
            plane = plane.crop((0, 0, old.width, old.height))
            plane.paste(ink, self._place_in(plane, picture), mask)
            wide = Image.new("L", (new.line_size, new.height))
            wide.paste(plane)
            new.update(wide.tobytes())
        for name in ("color_range", "colorspace", "color_primaries", "color_trc"):
            setattr(made, name, getattr(picture, name))
        return made

    def _layer(self, size: tuple[int, int]) -> Image.Image:
        if self._box is None:
            return _layer(self._svg, size)
        # On whole pairs of pixels, so that the halved planes fit.
        left, top = (
            int(side * low) // 2 * 2 for side, low in zip(size, self._box[:2], strict=True)
        )
        right, bottom = (
            min(side, int(side * high) // 2 * 2 + 2)
            for side, high in zip(size, self._box[2:], strict=True)
        )
        self._place = (left, top)
        view = _VIEW.search(self._svg)
        if view is None or left >= right or top >= bottom:
            raise ValueError("no drawing of ours")
        across, down = float(view[1]) / size[0], float(view[2]) / size[1]
        part = [left * across, top * down, (right - left) * across, (bottom - top) * down]
        words = " ".join(f"{number:.6f}" for number in part)
        cut = self._svg[: view.start()] + f'viewBox="{words}"' + self._svg[view.end() :]
        return _layer(cut, (right - left, bottom - top))

    def _place_in(self, plane: Image.Image, picture: Any) -> tuple[int, int]:
        share = 1 if plane.width == picture.width else 2
        return self._place[0] // share, self._place[1] // share


def _planes_of(layer: Image.Image, picture: Any) -> list[tuple[Image.Image, Image.Image]]:
    """Y, Cb and Cr of the layer with their masks, in the picture's own matrix and range."""
    matrix = int(picture.colorspace)
    is_old = matrix in _BT601 or (matrix == _UNKNOWN and picture.height < _HD_LINES)
    red, blue = _SHARES[is_old]
    green = 1 - red - blue
    full = int(picture.color_range) == _FULL_RANGE
    luma, chroma, black = (1.0, 1.0, 0) if full else (219 / 255, 224 / 255, 16)
    by_blue, by_red = chroma / (2 - 2 * blue), chroma / (2 - 2 * red)
    rows = [
        (luma * red, luma * green, luma * blue, black),
        (-red * by_blue, -green * by_blue, (1 - blue) * by_blue, 128),
        ((1 - red) * by_red, -green * by_red, -blue * by_red, 128),
    ]
    rgb, mask = layer.convert("RGB"), layer.getchannel("A")
    y, cb, cr = (rgb.convert("L", row) for row in rows)
    half = ((layer.width + 1) // 2, (layer.height + 1) // 2)
    halved = mask.resize(half, _HALF)
    return [(y, mask), (cb.resize(half, _HALF), halved), (cr.resize(half, _HALF), halved)]
