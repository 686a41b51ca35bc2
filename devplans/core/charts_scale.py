"""What all charts share: the scale of shares, a mark with its whiskers, room for labels. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from devplans.stats.proportions import wilson_interval

# The scale of shares ends so far from the edges that no mark on its ends is cut off.
SHARE_LEFT, SHARE_WIDTH = 3.0, 94.0
# The narrowest chart, and what a label of one more letter needs of it.
NARROW, LABEL_GAP, LABEL_LETTER = 264, 10, 9


def clamped(share: float) -> float:
    return min(1.0, max(0.0, share))


def percent(share: float) -> int:
    """A share as whole percent for a sentence: half a percent goes up, and 99.6 is not 100."""
    whole = int(100 * clamped(share) + 0.5)
    return min(max(whole, 1 if share > 0 else 0), 99 if share < 1 else 100)


def place_of(share: float) -> float:
    """A share (0..1) as a place on the ruled scale, in percent of the chart's width."""
    return round(SHARE_LEFT + SHARE_WIDTH * clamped(share), 2)


@dataclass(frozen=True)
class Whisker:
    """made of tried; low, high: shares 0..1. at, left, right: their places."""

    made: int
    tried: int
    low: float
    high: float

    @property
    def at(self) -> float:
        return place_of(self.made / self.tried)

    @property
    def left(self) -> float:
        return place_of(self.low)

    @property
    def right(self) -> float:
        return place_of(self.high)

    @property
    def low_percent(self) -> int:
        return percent(self.low)

    @property
    def high_percent(self) -> int:
        return percent(self.high)


def whisker(
    made: int | None, tried: int | None, low: float | None = None, high: float | None = None
) -> Whisker | None:
    """A share with its interval, Wilson's where none is given; None where nothing was tried.

    Raises ValueError for more made than tried.
    """
    if not tried:
        return None
    made = made or 0
    if not 0 <= made <= tried:
        raise ValueError(f"{made} of {tried} is no share")
    if low is None or high is None:
        low, high = wilson_interval(made, tried)
    return Whisker(made, tried, low, high)


def labelled(labels: Sequence[str], slot: float) -> list[bool]:
    """Which labels fit side by side where each has `slot` pixels; the last one always stands."""
    longest = max(map(len, labels), default=0)
    step = max(1, -int(-(LABEL_GAP + LABEL_LETTER * longest) // slot))
    return [(len(labels) - 1 - index) % step == 0 for index in range(len(labels))]
