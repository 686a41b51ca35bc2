"""Rolling captions: a cue begins with words that the cue above it has shown already. Pure."""

from collections.abc import Sequence
from itertools import pairwise

from devplans.talkthrough.captions.parts import Raw
from devplans.talkthrough.captions.wording import Token

Shown = tuple[Raw, list[Token]]

_MOST_WORDS = 60
# Fewer words may as well be said twice: where captions do not roll, and where they do but the
# words are not a whole line.
_LEAST_ELSEWHERE, _LEAST_WITHIN = 5, 3
_APART_MS = 1_000


def new_words(shown: Sequence[Shown]) -> list[list[Token]]:
    """Of each cue, in order of time, what the one before has not shown yet."""
    rolls = _rolls(shown)
    found: list[list[Token]] = []
    before: Shown | None = None
    for here in shown:
        tokens = here[1]
        if before is None or not tokens or (not rolls and _are_apart(before[0], here[0])):
            found.append(tokens)
        else:
            found.append(tokens[_repeated(before[1], tokens, rolls=rolls) :])
        if tokens:
            before = here
    return found


def _repeated(upper: Sequence[Token], lower: Sequence[Token], *, rolls: bool) -> int:
    """How many words at the beginning of `lower` are the end of `upper`."""
    first = lower[0].bare
    size = len(upper)
    for count in range(min(size, len(lower), _MOST_WORDS), 0, -1):
        if (
            upper[size - count].bare == first
            and _is_enough(count, upper, lower, rolls=rolls)
            and all(upper[size - count + step].bare == lower[step].bare for step in range(count))
        ):
            return count
    return 0


def _is_enough(count: int, upper: Sequence[Token], lower: Sequence[Token], *, rolls: bool) -> bool:
    if not rolls:
        return count >= _LEAST_ELSEWHERE
    return count >= _LEAST_WITHIN or lower[count - 1].ends_line or count == len(upper)


def _are_apart(before: Raw, here: Raw) -> bool:
    return before.end_ms is not None and here.start_ms > before.end_ms + _APART_MS


def _rolls(shown: Sequence[Shown]) -> bool:
    """Do captions roll in this file? Times inside of lines say so, or many cues that begin with
    the end of the one above."""
    full = [tokens for _raw, tokens in shown if tokens]
    if any(token.at_ms is not None for tokens in full for token in tokens):
        return True
    repeats = sum(_repeated(upper, lower, rolls=True) >= 2 for upper, lower in pairwise(full))
    return repeats >= 2 and repeats * 10 >= (len(full) - 1) * 3
