"""Numbers as they are said, and the words around them. Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.people_grammar import breaks
from devplans.talkthrough.understand.people_parts import words_in
from devplans.talkthrough.understand.words import Word

_UNITS = "zero one two three four five six seven eight nine"
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"


def _values(words: str, start: int) -> dict[str, int]:
    return {word: value for value, word in enumerate(words.split(), start)}


UNIT = {word: str(value) for word, value in _values(_UNITS, 0).items()} | {"oh": "0", "o": "0"}
TEEN = {word: str(value) for word, value in _values(_TEENS, 10).items()}
TENS = _values(_TENS, 2) | {"fourty": 4}
MARKS = words_in("number jersey shirt")


@dataclass(frozen=True)
class Figure:
    """A number as it was said: words [first, last), value as text, how it was said."""

    first: int
    last: int
    value: str
    how: str

    @property
    def size(self) -> int:
        return int(self.value)


class Around:
    """The words around a number, as far as no sign or pause parts them from it."""

    def __init__(self, words: Sequence[Word], figure: Figure) -> None:
        self.words = words
        self.figure = figure

    def before(self, back: int = 1) -> str:
        """The word that many places before, "" beyond the end of a sentence."""
        spot = self.figure.first - back
        if spot < 0 or any(sign in self.words[spot].after for sign in ".;!?"):
            return ""
        return self.words[spot].folded

    def after(self, ahead: int = 0) -> str:
        """The word that many places behind, "" beyond any break."""
        spot = self.figure.last + ahead
        if spot >= len(self.words) or breaks(self.words, spot):
            return ""
        return self.words[spot].folded

    @property
    def nearby(self) -> str:
        """The next word, whatever is between."""
        spot = self.figure.last
        return self.words[spot].folded if spot < len(self.words) else ""

    @property
    def marked(self) -> bool:
        """Whether the speaker says that it is a number of somebody."""
        return self.figure.how == "hash" or self.before() in MARKS


def read_number(text: str) -> str:
    """The value of one folded word, "" if it is no jersey number."""
    if match := re.fullmatch(r"#?(\d{1,2})(?:'s)?", text):
        return match[1]
    text = re.sub(r"'s$", "", text)
    if text in UNIT and text not in ("oh", "o"):
        return UNIT[text]
    if text in TEEN:
        return TEEN[text]
    if text in TENS:
        return f"{TENS[text]}0"
    head, _, tail = text.partition("-")
    if head in TENS and tail in UNIT:
        return f"{TENS[head]}{UNIT[tail]}"
    if head in UNIT and tail in UNIT:
        return UNIT[head] + UNIT[tail]
    return ""


def figures(words: Sequence[Word]) -> list[Figure]:
    """All numbers of a talk, the longer reading first where two are possible."""
    found: list[Figure] = []
    spot = 0
    while spot < len(words):
        figure = _pair(words, spot) or _alone(words, spot)
        if figure:
            found.append(figure)
        spot = figure.last if figure else spot + 1
    return found


def _alone(words: Sequence[Word], spot: int) -> Figure | None:
    word = words[spot]
    value = read_number(word.folded)
    if word.folded in ("oh", "o") and spot and words[spot - 1].folded in MARKS:
        value = "0"
    if not value or word.after[:1] in ("%", ":", "/", "$") or _fraction(words, spot):
        return None
    how = "hash" if word.text.startswith("#") else "digits" if word.folded[0].isdigit() else "word"
    return Figure(spot, spot + 1, value, how)


def _fraction(words: Sequence[Word], spot: int) -> bool:
    """The 8 of 0.8, the 20 of 3:20; and the 0 and the 3."""
    if not words[spot].folded[0].isdigit():
        return False
    behind = spot + 1 < len(words) and words[spot + 1].folded[0].isdigit()
    if spot and words[spot - 1].folded[-1].isdigit() and words[spot - 1].after in (".", ":", "/"):
        return True
    return behind and words[spot].after in (".", ":", "/")


def _pair(words: Sequence[Word], spot: int) -> Figure | None:
    if spot + 1 >= len(words) or any(sign in words[spot].after for sign in ".,;:!?"):
        return None
    one, two = words[spot].folded, re.sub(r"'s$", "", words[spot + 1].folded)
    if one in TENS and two in UNIT and two not in ("zero", "oh", "o"):
        return Figure(spot, spot + 2, f"{TENS[one]}{UNIT[two]}", "word")
    if one == "double" and two in UNIT:
        return Figure(spot, spot + 2, UNIT[two] * 2, "double")
    if one in UNIT and two in UNIT and not (one in ("oh", "o") and two not in ("oh", "o")):
        return Figure(spot, spot + 2, UNIT[one] + UNIT[two], "pair")
    return None
