from devplans.tallies.services.counting import Chance, Kept, keep_marks
from devplans.tallies.services.life import close_tally, delete_tally, reopen_tally
from devplans.tallies.services.starting import (
    MORE,
    MOST_SKILLS,
    counted_before,
    draw_more,
    start_tally,
)

__all__ = [
    "MORE",
    "MOST_SKILLS",
    "Chance",
    "Kept",
    "close_tally",
    "counted_before",
    "delete_tally",
    "draw_more",
    "keep_marks",
    "reopen_tally",
    "start_tally",
]
