"""Where the parts of a chart go: counts and shares in, places out. Pure; templates draw.

One SVG template per chart (`charts/share.svg`, `minutes.svg`, `series.svg`) is the drawing on a
page and in a mail. On a page it comes with its numbers as text, by the tags of
`portal.templatetags.charts`:

    {% share_chart standing label=goal.skill.name %}   {% share_chart made=9 tried=16 target=0.75 %}
    {% minutes_chart weeks whose=player.first_name limit=600 %}
    {% series_chart points label=skill.name %}         {% beside_chart beside %}

For a mail the same drawing is a PNG on opaque ground, without any page around it:

    from devplans.core import charts, charts_png
    charts_png.png("share", charts.share(made=9, tried=16, target=0.75))          -> bytes
    charts_png.png("minutes", charts.minutes([("46", 190, 55)], limit=600), theme="night")
    charts_png.png("series", charts.series([charts.Point("46", 9, 16)]))

It is 1,200 pixels wide and laid out for a screen of 320, so that its text keeps 11 pixels there:
`<img width="400">` and `max-width: 100%` suit a mail of 600. The numbers have to stand beside it as
text all the same: many readers show no images.

Places to the right (`x`, `at`) are percent of the width, so that a chart is as wide as its page
lets it be; places downwards are pixels, so that neither marks nor text shrink with it. All scales
are fixed: shares from 0 to 100 %, minutes and counts from 0 to a round number.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from devplans.core.charts_scale import (
    NARROW,
    Whisker,
    clamped,
    labelled,
    percent,
    place_of,
    whisker,
)

SHARE_HEIGHT = 52

MINUTES_TOP, MINUTES_FLOOR, MINUTES_HEIGHT = 24, 108, 127
HOURS = (2, 4, 6, 8, 10, 12, 15, 20, 30, 40, 60, 80, 120, 168)
FEWEST_WEEKS = 6
# A limit so many times the longest bar would leave the bars too low to be read.
FAR_ABOVE = 4

PLOT_LEFT, PLOT_WIDTH = 12.0, 88.0
PANEL_NAME, PANEL_HEIGHT, PANEL_GAP = 25, {"shares": 72, "counts": 46}, 12
AXIS = 20


# --- one share -------------------------------------------------------------


@dataclass(frozen=True)
class Share:
    """now: None where nothing was tried, and then nothing is drawn. target: 0..1."""

    now: Whisker | None
    old: Whisker | None = None
    target: float | None = None
    height: int = SHARE_HEIGHT

    @property
    def target_at(self) -> float | None:
        return None if self.target is None else place_of(self.target)

    @property
    def target_percent(self) -> int | None:
        return None if self.target is None else percent(self.target)

    @property
    def ticks(self) -> list[tuple[float, bool]]:
        """Places of 0, 10 ... 100 %, and whether it is one of the ends."""
        return [(place_of(ten / 10), ten in {0, 10}) for ten in range(11)]


def share(
    *,
    made: int | None,
    tried: int | None,
    low: float | None = None,
    high: float | None = None,
    old_made: int | None = None,
    old_tried: int | None = None,
    old_low: float | None = None,
    old_high: float | None = None,
    target: float | None = None,
) -> Share:
    """A share on a ruled scale, what it was before, and the target; shares and ends are 0..1."""
    return Share(
        now=whisker(made, tried, low, high),
        old=whisker(old_made, old_tried, old_low, old_high),
        target=target,
    )


# --- minutes a week --------------------------------------------------------


@dataclass(frozen=True)
class Bar:
    """Minutes of one week. organised_x, own_x, middle, width: percent; tops: pixels."""

    label: str
    organised: int
    own: int
    slot: float
    middle: float
    organised_top: float
    own_top: float
    is_last: bool
    is_labelled: bool

    @property
    def width(self) -> float:
        return round(0.32 * self.slot, 2)

    @property
    def organised_x(self) -> float:
        return round(self.middle - 0.36 * self.slot, 2)

    @property
    def own_x(self) -> float:
        return round(self.middle + 0.04 * self.slot, 2)

    @property
    def organised_height(self) -> float:
        return round(MINUTES_FLOOR - self.organised_top, 2)

    @property
    def own_height(self) -> float:
        return round(MINUTES_FLOOR - self.own_top, 2)


@dataclass(frozen=True)
class Minutes:
    """hours: what the ruled line at `top` stands for. limit: minutes with the team a week."""

    bars: tuple[Bar, ...]
    hours: int
    limit: int | None
    top: int = MINUTES_TOP
    floor: int = MINUTES_FLOOR
    height: int = MINUTES_HEIGHT

    @property
    def limit_y(self) -> float | None:
        """None where no limit is known, and where it lies above the scale."""
        if self.limit is None or self.limit > 60 * self.hours:
            return None
        return minutes_y(self.limit, self.hours)


def minutes_y(minutes: float, hours: int) -> float:
    """How far down `minutes` lie, in pixels, on a scale of so many hours."""
    return round(MINUTES_FLOOR - (MINUTES_FLOOR - MINUTES_TOP) * minutes / (60 * hours), 2)


def minutes(weeks: Sequence[tuple[str, int, int]], *, limit: int | None = None) -> Minutes:
    """Bars for (label, minutes with the team, minutes on one's own) per week, oldest first.

    limit: the published minutes with the team, a week. The scale holds the longest bar, and the
    limit unless it is so far above that no bar could be read. Raises ValueError for minutes below
    0, or more than a week has.
    """
    most = max((max(organised, own) for _, organised, own in weeks), default=0)
    if most > 60 * HOURS[-1] or any(min(organised, own) < 0 for _, organised, own in weeks):
        raise ValueError("a week has 0 to 10,080 minutes")
    held = limit if limit and (limit <= FAR_ABOVE * most or not most) else 0
    hours = next(one for one in HOURS if 60 * one >= max(most, held))
    slot = 100 / max(len(weeks), FEWEST_WEEKS)
    shown = labelled([label for label, _, _ in weeks], NARROW * slot / 100)
    bars = tuple(
        Bar(
            label=label,
            organised=organised,
            own=own,
            slot=slot,
            middle=round((index + 0.5) * slot, 2),
            organised_top=minutes_y(organised, hours),
            own_top=minutes_y(own, hours),
            is_last=index == len(weeks) - 1,
            is_labelled=shown[index],
        )
        for index, (label, organised, own) in enumerate(weeks)
    )
    return Minutes(bars, hours, limit)


# --- shares and counts over weeks or reviews -------------------------------


@dataclass(frozen=True)
class Point:
    """A share of one week or review; tried 0: a gap. low, high: 0..1, Wilson's where left out."""

    label: str
    made: int
    tried: int
    low: float | None = None
    high: float | None = None

    @property
    def whisker(self) -> Whisker | None:
        return whisker(self.made, self.tried, self.low, self.high)


@dataclass(frozen=True)
class Spot:
    """A dot with its whisker: x percent, the rest pixels."""

    x: float
    y: float
    top: float
    bottom: float


@dataclass(frozen=True)
class Column:
    """A bar that counts: x, width percent, the rest pixels."""

    x: float
    width: float
    top: float
    height: float


@dataclass(frozen=True)
class Panel:
    """One ruled strip. kind: "shares" or "counts". lines: (y, label). trend: (x1, y1, x2, y2)."""

    kind: str
    name: str
    name_y: int
    is_open: bool
    lines: tuple[tuple[float, str], ...]
    spots: tuple[Spot, ...] = ()
    columns: tuple[Column, ...] = ()
    trend: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Series:
    """Strips under each other over one row of labels: (x, label, is the last)."""

    panels: tuple[Panel, ...]
    labels: tuple[tuple[float, str, bool], ...]
    axis_y: int
    left: float = PLOT_LEFT

    @property
    def height(self) -> int:
        return self.axis_y + AXIS


@dataclass(frozen=True)
class Strip:
    """What one strip shows: `shares` (a dot with whiskers each) or `counts` (a bar each, None: a
    gap). trend: the shares at the first and at the last dot of a straight line."""

    name: str
    shares: tuple[Point, ...] = ()
    counts: tuple[int | None, ...] = ()
    is_open: bool = False
    trend: tuple[float, float] | None = None


def series(
    points: Sequence[Point], *, name: str = "", trend: tuple[float, float] | None = None
) -> Series:
    """A share over weeks or reviews, oldest first, as dots: nothing is claimed between them."""
    strip = Strip(name, shares=tuple(points), trend=trend)
    return strips([strip], [point.label for point in points])


def strips(shown: Sequence[Strip], labels: Sequence[str]) -> Series:
    """Strips over the same weeks. Raises ValueError where one has not a value for each label."""
    slots = max(len(labels), FEWEST_WEEKS)
    slot = PLOT_WIDTH / slots
    middles = [round(PLOT_LEFT + (index + 0.5) * slot, 2) for index in range(len(labels))]
    panels, y = [], 0
    for strip in shown:
        if len(strip.shares or strip.counts) != len(labels):
            raise ValueError(f"{strip.name!r} has not one value for each of {len(labels)} labels")
        panels.append(_panel(strip, y, middles, slot))
        kind = panels[-1].kind
        y += (PANEL_NAME if strip.name else 8) + PANEL_HEIGHT[kind] + PANEL_GAP
    stands = labelled(labels, NARROW * slot / 100)
    named = tuple(
        (x, label, index == len(labels) - 1)
        for index, (x, label) in enumerate(zip(middles, labels, strict=True))
        if stands[index]
    )
    return Series(tuple(panels), named, axis_y=y - PANEL_GAP)


def _panel(strip: Strip, y: int, middles: Sequence[float], slot: float) -> Panel:
    kind = "shares" if strip.shares else "counts"
    top = y + (PANEL_NAME if strip.name else 8)
    height = PANEL_HEIGHT[kind]
    most = 100 if strip.shares else round_top(max((n or 0 for n in strip.counts), default=0))

    def down(part: float) -> float:
        return round(top + height * (1 - clamped(part)), 2)

    marks = (0, 50, 100) if strip.shares else (0, most)
    spots = tuple(
        Spot(x, down(found.made / found.tried), down(found.high), down(found.low))
        for x, point in zip(middles, strip.shares, strict=False)
        if (found := point.whisker)
    )
    columns = tuple(
        Column(
            x=round(x - 0.3 * slot, 2),
            width=round(0.6 * slot, 2),
            top=down(count / most),
            height=round(height * count / most, 2),
        )
        for x, count in zip(middles, strip.counts, strict=False)
        if count
    )
    trend = None
    if strip.trend and len(spots) > 1:
        trend = (spots[0].x, down(strip.trend[0]), spots[-1].x, down(strip.trend[1]))
    return Panel(
        kind=kind,
        name=strip.name,
        name_y=y + 13,
        is_open=strip.is_open,
        lines=tuple((down(mark / most), str(mark)) for mark in marks),
        spots=spots,
        columns=columns,
        trend=trend,
    )


def round_top(most: int) -> int:
    """The least of 10, 20, 50, 100, 200, 500 ... that holds `most`."""
    tens = 10
    while True:
        for step in (1, 2, 5):
            if step * tens >= most:
                return step * tens
        tens *= 10
