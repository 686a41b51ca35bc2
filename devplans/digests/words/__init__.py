"""The sentences of a digest, made once for HTML and text from the facts that are kept.

`child` tells of one player's week, `squad` of a squad's for its coach, `club` and `squad_in_club`
of all squads for the director. Facts that were kept before a key came in are told without it.
"""

from devplans.digests.words.family import child
from devplans.digests.words.parts import Figure, Line, Part, week_title
from devplans.digests.words.staff import club, squad, squad_in_club

__all__ = ["Figure", "Line", "Part", "child", "club", "squad", "squad_in_club", "week_title"]
