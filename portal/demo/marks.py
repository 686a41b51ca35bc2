"""The possessions of the drawn film, and what its scoreboard shows, as a coach would mark them."""

from devplans.film.models import ClockMark, Film, Possession
from portal.demo.play import clock_at
from portal.demo.script import CLOCK_STOPPED_S, LENGTH_S, PERIOD, POSSESSIONS

# Read off the scoreboard: at the beginning, around the ball out of bounds, and near the end.
READ_AT_S = (0.0, 30.0, *CLOCK_STOPPED_S, 88.0)


def write(film: Film) -> None:
    """Mark possessions and clock of a film that shows the script."""
    dead_from, _until = CLOCK_STOPPED_S
    starts = [row.start_s for row in POSSESSIONS]
    for row, end_s in zip(POSSESSIONS, [*starts[1:], LENGTH_S], strict=True):
        # One ends with the whistle, the next begins with the throw-in.
        end_s = dead_from if row.start_s < dead_from < end_s else end_s
        Possession.objects.create(
            film=film,
            side=Possession.Side.OURS if row.home else Possession.Side.THEIRS,
            start_ms=round(1000 * row.start_s),
            end_ms=round(1000 * end_s),
        )
    for film_s in READ_AT_S:
        ClockMark.objects.create(
            film=film,
            film_ms=round(1000 * film_s),
            period=PERIOD,
            clock_s=round(clock_at(film_s), 1),
        )
