"""Our own SVG as PNG, the same on every machine: the one font comes out of a package.

Only for markup that we wrote ourselves, with escaped text: the renderer opens files that an image
names, and a huge picture ends the whole process. Pure, so that a child process without the
framework can use it.
"""

from functools import cache
from importlib.resources import files
from pathlib import Path

import resvg_py

MOST_PIXELS_A_SIDE = 4096
FONT_FILE = "SourceSansPro-Semibold.ttf"


@cache
def font_path() -> Path:
    """Where the font lies; without it all text would vanish without a word, so this raises."""
    path = Path(str(files("font_source_sans_pro") / "files" / FONT_FILE))
    if not path.is_file():
        raise FileNotFoundError(f"{FONT_FILE} is not in the installed package font-source-sans-pro")
    return path


def png(svg: str, *, width: int, height: int) -> bytes:
    """`svg` as PNG with a clear ground, of exactly that many pixels, each side 1 to 4096.

    Raises ValueError for another size, and for what is no SVG.
    """
    if not (1 <= width <= MOST_PIXELS_A_SIDE and 1 <= height <= MOST_PIXELS_A_SIDE):
        raise ValueError(f"a picture of {width}x{height} is not made here")
    # Asked for as options the size comes out rounded from the SVG's own.
    sized = svg.replace("<svg ", f'<svg width="{width}" height="{height}" ', 1)
    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=sized,
            skip_system_fonts=True,
            font_files=[str(font_path())],
            sans_serif_family="Source Sans Pro",
            serif_family="Source Sans Pro",
            font_family="Source Sans Pro",
        )
    )
