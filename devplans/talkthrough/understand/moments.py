"""Talk cut into moments: one set of players, one verdict, one thing. Pure."""

from collections.abc import Sequence

from devplans.talkthrough.understand.corrections import taken_back
from devplans.talkthrough.understand.moments_parts import (
    AROUND,
    NOT_NAMED,
    NOTHING,
    OTHERS,
    TEAM,
    Moment,
)
from devplans.talkthrough.understand.moments_rules import by_rules
from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.units import units
from devplans.talkthrough.understand.words import Word

__all__ = ["AROUND", "NOTHING", "NOT_NAMED", "OTHERS", "TEAM", "Moment", "moments"]


def moments(words: Sequence[Word], mentions: Sequence[Mention]) -> list[Moment]:
    """In order; each word is in one of them. Those with a `why` are about nobody."""
    back = taken_back(words, mentions)
    kept = [mention for at, mention in enumerate(mentions) if at not in back]
    return by_rules(words, units(words, kept))
