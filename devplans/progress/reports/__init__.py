"""What the pages and the digests say about players, squads and clubs: reads only, from the facts
of the apps below.

Every function takes all its players or squads at once and asks a constant number of questions.
Results are plain values that can be kept as JSON: ids as text, instants as ISO text, shares 0..1,
None where undefined.
"""

from devplans.progress.reports.figures import WEEKS_SHOWN, counted, drill_facts, gym_facts
from devplans.progress.reports.players import (
    deliveries_between,
    goals_of,
    messages_between,
    next_dates,
    player_weeks,
    squads_of,
)
from devplans.progress.reports.squads import SquadsRead, read_squads, squad_facts, whole_facts

__all__ = [
    "WEEKS_SHOWN",
    "SquadsRead",
    "counted",
    "deliveries_between",
    "drill_facts",
    "goals_of",
    "gym_facts",
    "messages_between",
    "next_dates",
    "player_weeks",
    "read_squads",
    "squad_facts",
    "squads_of",
    "whole_facts",
]
