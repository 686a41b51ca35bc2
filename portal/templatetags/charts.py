"""The charts, each with its numbers as text, as tags that every template has without loading them.

What they draw and how to have it in a mail is told in `devplans.core.charts`.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import template
from django.utils.translation import gettext as _

from devplans.core import charts

register = template.Library()


@register.inclusion_tag("charts/_share.html")
def share_chart(
    standing: Any = None,
    *,
    made: int | None = None,
    tried: int | None = None,
    low: float | None = None,
    high: float | None = None,
    old_made: int | None = None,
    old_tried: int | None = None,
    target: float | None = None,
    label: str = "",
) -> dict[str, Any]:
    """A share with its interval on a ruled scale of 0 to 100 %; a dash where nothing was tried.

    standing: has `made, tried, low, high, start_made, start_tried, start_low, start_high, target`
    (a goal's), in place of the single figures. low, high, target: shares 0..1. The old value is
    open and dashed, the target a notch. label: what is counted, to be read out.
    """
    if standing is None:
        chart = charts.share(
            made=made, tried=tried, low=low, high=high,
            old_made=old_made, old_tried=old_tried, target=target,
        )  # fmt: skip
    else:
        chart = charts.share(
            made=standing.made, tried=standing.tried, low=standing.low, high=standing.high,
            old_made=standing.start_made, old_tried=standing.start_tried,
            old_low=standing.start_low, old_high=standing.start_high, target=standing.target,
        )  # fmt: skip
    return {"chart": chart, "label": label}


@register.inclusion_tag("charts/_minutes.html")
def minutes_chart(
    weeks: Iterable[Mapping[str, Any]], *, whose: str = "", limit: int | None = None
) -> dict[str, Any]:
    """Minutes a week: filled with the team, open on one's own.

    weeks: oldest first, each with `label`, `organised`, `own` (minutes). whose: a name for the
    caption. limit: the published minutes with the team a week; None where none are known.
    """
    rows = [(str(week["label"]), week["organised"] or 0, week["own"] or 0) for week in weeks]
    return {"chart": charts.minutes(rows, limit=limit), "whose": whose}


@register.inclusion_tag("charts/_series.html")
def series_chart(
    points: Sequence[charts.Point],
    *,
    label: str = "",
    over: str = "",
    trend: tuple[float, float] | None = None,
) -> dict[str, Any]:
    """A share over weeks or reviews, oldest first: a dot with whiskers each, nothing in between.

    over: what the labels are, "Week" where left out. trend: the shares at the ends of a line.
    """
    strip = charts.Strip("", shares=tuple(points), trend=trend)
    return _drawn([strip], [point.label for point in points], label, over, [label or _("Share")])


@register.inclusion_tag("charts/_series.html")
def beside_chart(beside: Any) -> dict[str, Any]:
    """Film beside gym over the same weeks. beside: has `label`, `labels` and `strips`."""
    columns = [strip.name for strip in beside.strips]
    return _drawn(beside.strips, beside.labels, beside.label, "", columns)


def _drawn(
    strips: Sequence[charts.Strip],
    labels: Sequence[str],
    label: str,
    over: str,
    columns: Sequence[str],
) -> dict[str, Any]:
    return {
        "chart": charts.strips(strips, labels),
        "label": label,
        "over": over or _("Week"),
        "columns": columns,
        "rows": [
            {"label": name, "cells": [_cell(strip, index) for strip in strips]}
            for index, name in enumerate(labels)
        ],
    }


def _cell(strip: charts.Strip, index: int) -> dict[str, Any]:
    if strip.shares:
        return {"whisker": strip.shares[index].whisker}
    return {"is_count": True, "count": strip.counts[index]}
