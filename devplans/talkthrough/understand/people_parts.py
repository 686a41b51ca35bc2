"""What finding people hands on. Pure."""

from dataclasses import dataclass


def words_in(text: str) -> frozenset[str]:
    return frozenset(text.split())


@dataclass(frozen=True)
class Mention:
    """Words [first, last) that name somebody.

    keys: players, best first; empty where nobody on the roster is meant. kind: "name", "number",
    "unknown" (a name that nobody on the roster has) or "opponent".
    """

    first: int
    last: int
    keys: tuple[str, ...]
    sure: bool
    kind: str


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
