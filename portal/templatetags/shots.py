"""The shot chart. Not among the components that every template has."""

from collections.abc import Iterable
from typing import Any

from django import template
from django.utils.translation import gettext as _

from devplans.stats.court_lines import court_lines
from portal import shot_figure
from portal.templatetags.ui import court

register = template.Library()
ANCHORS = {"corner-left": "start", "corner-right": "end"}


@register.inclusion_tag("components/_shot_chart.html")
def shot_chart(*, rules: str, shots: Iterable[Any], zones: Iterable[Any]) -> dict[str, Any]:
    """Shots on the half court: a filled dot for a make, a cross for a miss; `made/tried` of each
    zone as a number. The same numbers must stand in a table beside it.

    shots: each with `x_mm`, `y_mm`, `made`. zones: each with `key`, `made`, `tried`.
    """
    lines = court_lines(rules)
    shots = list(shots)
    places = shot_figure.side_by_side((shot.x_mm, shot.y_mm) for shot in shots)
    made = [place for place, shot in zip(places, shots, strict=True) if shot.made]
    missed = [place for place, shot in zip(places, shots, strict=True) if not shot.made]
    numbers = [
        {"at": place, "made": zone.made, "tried": zone.tried, "anchor": ANCHORS.get(zone.key)}
        for zone in zones
        if (place := shot_figure.number_place(zone.key, lines))
    ]
    words = _("Half court seen from above, ring at the top: %(made)s makes and %(missed)s misses")
    return {
        **court(rules=rules, label=words % {"made": len(made), "missed": len(missed)}),
        "made": shot_figure.dots(made),
        "missed": shot_figure.crosses(missed),
        "numbers": numbers,
    }
