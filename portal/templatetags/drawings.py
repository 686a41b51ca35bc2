"""Drawings on stills and films: the very SVG that stills and clips are rendered from."""

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from devplans.feedback import drawing as drawings
from devplans.feedback.drawings.shapes import Shape

register = template.Library()


def told(shapes: list[Shape]) -> str:
    """What a drawing shows, for those who hear the page: "Drawing: arrow, circle, “Step here”"."""
    names = {
        "arrow": _("arrow"),
        "line": _("line"),
        "circle": _("circle"),
        "area": _("area"),
        "freehand": _("freehand line"),
    }
    words = [f"“{one['text']}”" if "text" in one else names[one["kind"]] for one in shapes]
    return _("Drawing: %(shapes)s") % {"shapes": ", ".join(words)}


@register.filter
def drawing_words(shapes: list[Shape]) -> str:
    """The shapes of an older version in words; "" where nothing was drawn."""
    return told(shapes) if shapes else ""


@register.simple_tag
def drawing(comment: Any) -> str:
    """The drawing of `comment` as families see it, to lie over its still; nothing where nothing is
    drawn. Stands after the picture in an element of the class `drawn`."""
    shapes = drawings.shown_shapes(comment)
    if not shapes:
        return ""
    return format_html(
        '<div class="drawing" role="img" aria-label="{}">{}</div>',
        told(shapes),
        mark_safe(drawings.drawing_svg(comment)),  # noqa: S308 - made by us, its texts are escaped
    )


@register.simple_tag
def drawing_on_film(comment: Any) -> str:
    """The drawing of `comment` as its coach made it, hidden: the film shows it at its moment."""
    svg = drawings.drawing_svg(comment, as_written=True)
    if not svg:
        return ""
    end = "" if comment.end_ms is None else comment.end_ms
    return format_html(
        '<drawing-view start-ms="{}" end-ms="{}" hidden>{}</drawing-view>',
        comment.start_ms,
        end,
        mark_safe(svg),  # noqa: S308 - made by us, its texts are escaped
    )
