"""A span of time as whole ISO weeks and what is left of it at both ends. Knows no database."""

from dataclasses import dataclass
from datetime import datetime

from devplans.stats import weeks

Edge = tuple[datetime, datetime]


@dataclass(frozen=True)
class Parts:
    """whole: the first and the last whole week, None for none; head, tail: [start, end) before and
    behind them, None where nothing is left."""

    whole: tuple[weeks.Week, weeks.Week] | None
    head: Edge | None = None
    tail: Edge | None = None


def parts_of(start: datetime, end: datetime, zone: str) -> Parts:
    """[start, end) in weeks of `zone`; a part of one or two weeks is all head."""
    if end <= start:
        return Parts(None)
    first = weeks.week_of(start, zone)
    if weeks.bounds(*first, zone)[0] != start:
        first = weeks.next_week(first)
    begins = weeks.bounds(*first, zone)[0]
    last = weeks.last_complete_week(end, zone)
    if last < first:
        return Parts(None, head=(start, end))
    ends = weeks.bounds(*last, zone)[1]
    return Parts(
        (first, last),
        head=(start, begins) if start < begins else None,
        tail=(ends, end) if ends < end else None,
    )
