"""How long the clips of a list run. Pure."""

from collections.abc import Iterable
from typing import TypeVar

Key = TypeVar("Key")


def running_ms(spans: Iterable[tuple[int, int]]) -> int:
    """Milliseconds that `spans` of (start, end) take, one after the other."""
    return sum(end - start for start, end in spans)


def moved(order: list[Key], one: Key, after: Key | None) -> list[Key]:
    """`order` with `one` directly behind `after`, or first where that is None.

    Raises ValueError where `after` is not in it; behind itself means: where it is.
    """
    if after == one:
        return list(order)
    rest = [key for key in order if key != one]
    place = 0 if after is None else rest.index(after) + 1
    return [*rest[:place], one, *rest[place:]]
