"""Shapes as a text in a file, there and back. Pure.

Not the SVG: it holds no circle smaller than can be seen, and a text only in the lines it was
broken into, so shapes cannot be told from it again.
"""

import json
from collections.abc import Sequence

from devplans.feedback.drawings.shapes import BadDrawing, Shape, parsed

# The largest drawing that there may be takes three quarters of that.
LONGEST = 80_000


def written(shapes: Sequence[Shape]) -> str:
    """`shapes` as JSON; "" for none."""
    return json.dumps(shapes, ensure_ascii=False, separators=(",", ":")) if shapes else ""


def shapes_of(text: str) -> list[Shape]:
    """The shapes of a text that anybody may have written, under the rules of every drawing.

    Raises BadDrawing.
    """
    if len(text) > LONGEST:
        raise BadDrawing("form")
    try:
        return parsed(json.loads(text))
    except BadDrawing:
        raise
    except (ValueError, RecursionError) as error:
        raise BadDrawing("form") from error
