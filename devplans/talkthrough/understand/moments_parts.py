"""A stretch of talk about one set of players, or about nobody, and why. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.units import ABOUT_OTHERS, GREETING, Unit
from devplans.talkthrough.understand.words import Word

NOT_NAMED = "nobody of the squad is named"
OTHERS = "about the other side or somebody outside the squad"
TEAM = "about the whole team"
AROUND = "about the day, not about how anybody played"
NOTHING = "nothing is said about how it was done"


@dataclass
class Moment:
    """Units in a row. judged: who it is about; asked: who it may be about; carried: taken from the
    moment before; why: not empty where it makes no suggestion."""

    units: list[Unit] = field(default_factory=list)
    judged: list[Mention] = field(default_factory=list)
    asked: list[Mention] = field(default_factory=list)
    carried: bool = False
    why: str = ""

    @property
    def first(self) -> int:
        return self.units[0].first

    @property
    def last(self) -> int:
        return self.units[-1].last

    @property
    def keys(self) -> frozenset[str]:
        return frozenset(mention.keys[0] for mention in self.judged)


def reason(words: Sequence[Word], moment: Moment) -> str:
    """Why a moment is about nobody."""
    text = " ".join(word.folded for word in words[moment.first : moment.last])
    personal = any(one.personal for one in moment.units)
    others = any(one.others for one in moment.units)
    if others or (ABOUT_OTHERS.search(text) and not personal):
        return OTHERS
    if GREETING.search(text):
        return AROUND
    collective = any(one.collective and not one.personal for one in moment.units)
    return TEAM if collective else NOT_NAMED
