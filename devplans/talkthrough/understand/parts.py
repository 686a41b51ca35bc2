"""What goes into understanding a talk-through and what comes out. Pure."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Cue:
    """Words said between two times, in milliseconds."""

    start_ms: int
    end_ms: int
    text: str


@dataclass(frozen=True)
class RosterPlayer:
    """key: whatever the caller knows the player by. number is text: "00" is not "0"; "" is none.

    nicknames are the club's own names for the player; heard_as is what captions or speech made of
    the name before, as a coach has confirmed.
    """

    key: str
    number: str = ""
    first: str = ""
    last: str = ""
    nicknames: tuple[str, ...] = ()
    heard_as: tuple[str, ...] = ()


@dataclass(frozen=True)
class Heard:
    """Words that were taken for a player (one key), or that may be one of several (or, with no key,
    a name that nobody in the squad has)."""

    text: str
    keys: tuple[str, ...]
    sure: bool


@dataclass(frozen=True)
class Suggested:
    """One comment that the words seem to make. Players and skills hold what is certain enough to be
    filled in, unsure and maybe_skills what the coach is asked, best first, three at most."""

    start_ms: int
    end_ms: int
    players: tuple[str, ...]
    unsure: tuple[str, ...]
    skills: tuple[str, ...]
    maybe_skills: tuple[str, ...]
    verdict: str
    happened: str
    do_instead: str
    said: str
    heard: tuple[Heard, ...] = field(default=())


@dataclass(frozen=True)
class LeftOut:
    start_ms: int
    said: str
    why: str


@dataclass(frozen=True)
class Understood:
    suggestions: tuple[Suggested, ...]
    left_out: tuple[LeftOut, ...]
