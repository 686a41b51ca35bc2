"""When each frame of a playable copy begins, for the player that steps through them."""

import gzip
import json
from itertools import pairwise
from pathlib import Path


def steps_of(path: Path | str) -> list[int]:
    """Milliseconds from each frame to the next; each frame's own time is rounded up first.

    Only for copies that we made: they are read without the limits of the sandbox.
    """
    # Only the worker needs it; the web server loads this module too.
    import av

    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        base = stream.time_base
        stamps = sorted(p.pts for p in container.demux(stream) if p.pts is not None and p.size)
    if not stamps:
        return []
    # Whole numbers all the way: a rounding error would put a time one millisecond too high.
    over, under = 1000 * base.numerator, base.denominator
    times = [-((stamps[0] - stamp) * over // under) for stamp in stamps]
    return [later - earlier for earlier, later in pairwise(times)]


def packed(steps: list[int]) -> bytes:
    """The steps as gzipped JSON: a whole game takes some kilobytes."""
    return gzip.compress(json.dumps(steps, separators=(",", ":")).encode(), mtime=0)
