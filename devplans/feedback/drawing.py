"""The drawing of a comment: whether it may be kept, who reads what of it, and its SVG.

A clip is one file for all addressees, and so is what is burned into it. So where a comment goes to
several players, its drawing names none of them; `words_for` does the same for the words.
"""

from collections.abc import Iterable
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from devplans.core.errors import DomainError
from devplans.feedback import naming, roster, wording
from devplans.feedback.drawings import reading, svg
from devplans.feedback.drawings import shapes as known
from devplans.feedback.drawings.shapes import BadDrawing, Shape
from devplans.feedback.models import Comment, Drawing
from devplans.feedback.naming import Named
from devplans.film.models import Film

# Where nobody knows the size of the film yet.
USUAL_FRAME = (16, 9)
SENTENCES: dict[str, Promise | str] = {
    "form": _("This is not a drawing: it has to be a list of shapes with kind, points and colour."),
    "shapes": _("A drawing holds %(most)s shapes at most: delete some, or write another comment."),
    "points": _("Too many points: %(most)s at most. Draw it with fewer."),
    "kind": _("There is no such shape; there are: %(known)s."),
    "colour": _("There is no such colour; there are: %(known)s."),
    "stroke": _("There is no such stroke; there are: %(known)s."),
    "place": _("Each point lies in the frame: two numbers from 0 to 1."),
    "points_of_arrow": _("An arrow needs two different points."),
    "points_of_line": _("A line needs two different points."),
    "points_of_freehand": _("A freehand stroke needs two different points."),
    "points_of_circle": _("A circle needs its middle and one other point."),
    "points_of_area": _("An area needs three corners."),
    "points_of_text": _("A text stands at one point."),
    "text_empty": _("Write something, or leave the text out."),
    "text_long": _("Keep the words in a drawing under %(most)s letters."),
    "text_letter": _("“%(letter)s” cannot be drawn: use letters, digits and common signs."),
}


def checked(value: Any) -> list[Shape]:
    """`value` as shapes; raises DomainError "drawing.…" with what is wrong with it."""
    try:
        return known.parsed(value)
    except BadDrawing as error:
        raise _refusal(error) from error


def read(text: str) -> list[Shape]:
    """The shapes of a file's text; raises DomainError as `checked` does."""
    try:
        return reading.shapes_of(text)
    except BadDrawing as error:
        raise _refusal(error) from error


def _refusal(error: BadDrawing) -> DomainError:
    sentence = str(SENTENCES[error.reason]) % error.values
    return DomainError(f"drawing.{error.reason}", sentence, field="drawing")


def shapes_of(comment: Comment) -> list[Shape]:
    """The shapes as the coach drew them, rounded as they were kept."""
    try:
        return list(comment.drawing.shapes)
    except Drawing.DoesNotExist:
        return []


def texts_of(comment: Comment) -> list[str]:
    """The words that are written in the comment's drawing."""
    return known.texts(shapes_of(comment))


def keep(comment: Comment, shapes: list[Shape]) -> None:
    """Put `shapes` in place of the comment's drawing; none at all takes it away."""
    if shapes:
        row, _made = Drawing.objects.update_or_create(comment=comment, defaults={"shapes": shapes})
        comment.drawing = row
    else:
        Drawing.objects.filter(comment=comment).delete()
        comment._state.fields_cache.pop("drawing", None)


def masked(
    shapes: Iterable[Shape], others: Iterable[Named], *, careful: bool = False
) -> list[Shape]:
    """The shapes, their texts without the names of `others`."""
    people = tuple(others)
    return [
        {**shape, "text": naming.mask(shape["text"], people, careful=careful)}
        if "text" in shape
        else shape
        for shape in shapes
    ]


def shown_shapes(comment: Comment) -> list[Shape]:
    """The shapes as families see them: no addressee is named to another one's family."""
    shapes = shapes_of(comment)
    if not known.texts(shapes):
        return shapes
    addressed = list(comment.players.all())
    if len(addressed) < 2:
        return shapes
    entries = wording.entries_by_player(roster.roster(comment.film, extra=addressed))
    return masked(shapes, [wording.names_of(player, entries) for player in addressed])


def frame_of(film: Film) -> tuple[int, int]:
    """The upright size of the film's frames; the usual shape while that is not known."""
    return (film.width, film.height) if film.width and film.height else USUAL_FRAME


def drawing_svg(comment: Comment, *, as_written: bool = False) -> str:
    """The SVG of the comment's drawing as families see it; "" where nothing is drawn.

    as_written: with the coach's own words, for coaches only.
    """
    return svg_over(comment.film, shapes_of(comment) if as_written else shown_shapes(comment))


def svg_over(film: Film, shapes: list[Shape]) -> str:
    """The SVG of `shapes` over the frames of `film`; "" for none."""
    if not shapes:
        return ""
    width, height = frame_of(film)
    return svg.drawn(shapes, width=width, height=height)
