"""The portal's mark as the pictures that a home screen asks for."""

from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders

from devplans.core import render

SIZES = (180, 192, 512)
MARK = "portal/mark.svg"


@cache
def png(size: int) -> bytes:
    """The mark, `size` pixels square, its ground up to the edges: each system cuts its own shape.

    Raises ValueError for a size that no screen asks for.
    """
    if size not in SIZES:
        raise ValueError(f"no icon of {size} pixels")
    svg = Path(str(finders.find(MARK))).read_text(encoding="utf-8")
    # Square to the edges, and the strokes well inside of the circle that some systems cut.
    whole = svg.replace(' rx="5"', "").replace('viewBox="0 0 32 32"', 'viewBox="-6 -6 44 44"')
    ground = '<rect x="-6" y="-6" width="44" height="44"'
    whole = whole.replace('<rect width="32" height="32"', ground)
    return render.png(whole, width=size, height=size)
