"""Drawings for tests: one with every shape, and random ones."""

from hypothesis import strategies as st

from devplans.feedback.drawings.shapes import COLOURS, STROKES

EVERY_SHAPE = [
    {"kind": "arrow", "points": [[0.55, 0.62], [0.66, 0.38], [0.82, 0.52]], "colour": "chalk",
     "stroke": "solid"},
    {"kind": "line", "points": [[0.08, 0.3], [0.4, 0.36]], "colour": "mint", "stroke": "heavy"},
    {"kind": "circle", "points": [[0.26, 0.6], [0.33, 0.66]], "colour": "sky", "stroke": "solid"},
    {"kind": "area", "points": [[0.6, 0.7], [0.86, 0.7], [0.9, 0.94], [0.62, 0.9]],
     "colour": "blush", "stroke": "dashed"},
    {"kind": "freehand", "points": [[0.08, 0.8], [0.13, 0.9], [0.18, 0.8], [0.23, 0.9],
                                    [0.28, 0.82]], "colour": "chalk", "stroke": "solid"},
    {"kind": "text", "points": [[0.1, 0.16]], "colour": "chalk", "stroke": "solid",
     "text": "Foot in the key, Ñ & <Ž>"},
]  # fmt: skip

shares = st.integers(0, 10_000).map(lambda number: number / 10_000)
places = st.tuples(shares, shares).map(list)
LETTERS = "abcdefghijklmnop ABCÑŽéüж<>&\"'0123456789"


def _shape(kind, fewest, most):
    # Repeated points are taken out by the rules, so none are drawn here.
    points = st.lists(places, min_size=fewest, max_size=most, unique_by=tuple)
    fields = {
        "kind": st.just(kind),
        "points": points,
        "colour": st.sampled_from(COLOURS),
        "stroke": st.sampled_from(STROKES),
    }
    if kind == "text":
        words = st.text(LETTERS, min_size=1, max_size=60).map(lambda text: " ".join(text.split()))
        fields["text"] = words.filter(bool)
    return st.fixed_dictionaries(fields)


random_shapes = st.one_of(
    _shape("arrow", 2, 8),
    _shape("line", 2, 8),
    _shape("circle", 2, 2),
    _shape("area", 3, 8),
    _shape("freehand", 2, 40),
    _shape("text", 1, 1),
)
random_drawings = st.lists(random_shapes, max_size=12)
frames = st.sampled_from([(1280, 720), (720, 1280), (640, 360), (1440, 1080), (334, 190), (7, 5)])
