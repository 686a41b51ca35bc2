"""What finding people hands on. Pure."""

from dataclasses import dataclass, field


def words_in(text: str) -> frozenset[str]:
    return frozenset(text.split())


FAINT = "faint"


@dataclass(frozen=True)
class Mention:
    """Words [first, last) that name somebody.

    keys: players, best first; empty where nobody on the roster is meant. kind: "name", "number",
    "unknown" (a name that nobody on the roster has), "opponent", or "faint": words that may be a
    player's name or number, but hardly are. traits: what speaks for it, for what is learned.
    """

    first: int
    last: int
    keys: tuple[str, ...]
    sure: bool
    kind: str
    traits: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True)
class Guess:
    """A mention under consideration: score of the best key 0..1, exact letter by letter, rank
    orders guesses that overlap. everyday: the words may as well be plain English."""

    first: int
    last: int
    keys: tuple[str, ...]
    sure: bool
    score: float
    exact: bool
    rank: float
    everyday: bool = False
    doubtful: bool = False
    traits: tuple[str, ...] = ()
