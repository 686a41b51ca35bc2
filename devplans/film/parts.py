"""Which of a film's files is on screen at a time of the film; they follow one another."""

from collections.abc import Sequence


def locate(lengths_ms: Sequence[int | None], ms: int) -> tuple[int, int]:
    """Number of the file, from 0, and the time in it, for `ms` of the film.

    lengths_ms: how long each file is; each begins where the one before ends. Past the end of the
    film it is a time past the end of the last file. The files after one whose length is not known
    are never reached.
    """
    for number, length in enumerate(lengths_ms[:-1]):
        if length is None or ms < length:
            return number, ms
        ms -= length
    return max(0, len(lengths_ms) - 1), ms


def starts(lengths_ms: Sequence[int]) -> list[int]:
    """When each file begins, in milliseconds of the film."""
    found = [0]
    for length in lengths_ms[:-1]:
        found.append(found[-1] + length)
    return found[: len(lengths_ms)]
