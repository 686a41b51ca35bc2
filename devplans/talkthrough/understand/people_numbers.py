"""Which numbers in a talk are players: their own, the other side's, or mere counts. Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.people_grammar import breaks, evidence, third_person
from devplans.talkthrough.understand.people_parts import Mention, words_in
from devplans.talkthrough.understand.people_traps import (
    BEFORE_COUNT,
    COLOURS,
    ENUMERATED,
    GUARDED,
    PRAISE,
    UNITS,
)
from devplans.talkthrough.understand.people_words import FUNCTION
from devplans.talkthrough.understand.words import Word

_UNITS = "zero one two three four five six seven eight nine"
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"


def _values(words: str, start: int) -> dict[str, int]:
    return {word: value for value, word in enumerate(words.split(), start)}


UNIT = {word: str(value) for word, value in _values(_UNITS, 0).items()} | {"oh": "0", "o": "0"}
TEEN = {word: str(value) for word, value in _values(_TEENS, 10).items()}
TENS = _values(_TENS, 2) | {"fourty": 4}
_MARKS = words_in("number jersey shirt no #")
_YOU = words_in("you your you're you've you'll you'd youre youve yours")
_OURS = words_in("our my")
_THEIRS = words_in("their theirs opposing")
_SIDES = words_in(
    """
team's teams teams' side's guys' white's blue's red's black's green's yellow's gold's grey's
whites blues reds
"""
)
_NOTING = words_in(
    """
reminder note question word same one good message tip nice look job thing credit applause point
homework something advice
"""
)
_PLACES = words_in("the a corner wing top right left weak strong high low middle")


@dataclass(frozen=True)
class Figure:
    """A number as it was said: words [first, last), value as text, how it was said."""

    first: int
    last: int
    value: str
    how: str


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
    if (
        not value
        or word.after[:1] in ("%", ":", "/", "$")
        or (
            spot
            and words[spot - 1].after[-1:] in (":", "$", "/")
            and word.folded[0].isdigit()
            and words[spot - 1].folded[-1].isdigit()
        )
    ):
        return None
    how = "hash" if word.text.startswith("#") else "digits" if word.folded[0].isdigit() else "word"
    return Figure(spot, spot + 1, value, how)


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


class Numbers:
    """The numbers of one talk against those of a roster."""

    def __init__(
        self, words: Sequence[Word], roster: Sequence[RosterPlayer], taken: set[int]
    ) -> None:
        self.words = words
        self.keys = {player.number: player.key for player in roster if player.number}
        self.taken = taken
        self.own_colours = self._own_colours()

    def mentions(self) -> list[Mention]:
        """Numbers that are players or opponents, in order."""
        all_figures = [
            one for one in figures(self.words) if self.taken.isdisjoint(range(one.first, one.last))
        ]
        spots = {one.first: one for one in all_figures}
        proofs = [(one, self._proof(one, spots)) for one in all_figures]
        clear = sum(1 for one, proof in proofs if self._counts_as_use(one, proof))
        by_number = clear >= 2
        found: list[Mention] = []
        for one, proof in proofs:
            mention = self._mention(one, proof, by_number)
            if mention:
                found.append(mention)
        return found

    def _counts_as_use(self, one: Figure, proof: float) -> bool:
        return one.value in self.keys and proof >= (1.7 if int(one.value) >= 6 else 2.4)

    def _mention(self, one: Figure, proof: float, by_number: bool) -> Mention | None:
        first = one.first - 1 if self._marked(one) and self._before(one, 1) in _MARKS else one.first
        if self._opposing(one):
            named = self._marked(one) or proof > -2.5 or self._before(one, 1) in _THEIRS
            return Mention(first, one.last, (), True, "opponent") if named else None
        key = self.keys.get(one.value)
        if key is None:
            marked = self._marked(one) and proof >= 1.7
            return Mention(first, one.last, (), False, "unknown") if marked else None
        need = self._need(one, by_number)
        if proof < need - 0.4:
            return None
        return Mention(first, one.last, (key,), proof >= need, "number")

    def _need(self, one: Figure, by_number: bool) -> float:
        value = int(one.value)
        if one.how == "pair":
            return 1.5 if by_number else 1.8
        if value >= 11 or one.value == "00":
            return 0.8 if by_number else 1.1
        if value >= 6 or one.value == "0":
            return 1.0 if by_number else 1.4
        return 1.2 if by_number else 1.9

    # -- what the words around say

    def _before(self, one: Figure, back: int) -> str:
        """The word that many places before, "" beyond a break."""
        spot = one.first - back
        if spot < 0 or any(sign in self.words[spot].after for sign in ".;!?"):
            return ""
        return self.words[spot].folded

    def _after(self, one: Figure, ahead: int = 0) -> str:
        spot = one.last + ahead
        if spot >= len(self.words) or breaks(self.words, spot):
            return ""
        return self.words[spot].folded

    def _marked(self, one: Figure) -> bool:
        return one.how == "hash" or self._before(one, 1) in _MARKS

    def _proof(self, one: Figure, spots: dict[int, Figure]) -> float:
        """How much speaks for a player: as `evidence`, 2 and more where he is called by number."""
        if self._marked(one):
            return self._enumeration(one)
        if one.how == "word" and one.value in ("0",) and self._before(one, 1) == "":
            pass
        if self._before(one, 1) in _OURS and self._after(one) not in UNITS:
            if not self._among_numbers(one, spots):
                return 2.2 if int(one.value) >= 6 else 1.4
        if self._is_count(one, spots):
            return -3.0
        return self._grammar(one) + self._address(one)

    def _grammar(self, one: Figure) -> float:
        proof = evidence(self.words, one.first, one.last)
        value, here = int(one.value), self._after(one)
        nearby = self.words[one.last].folded if one.last < len(self.words) else ""
        if value <= 10 and not here and nearby not in _YOU:
            proof = min(proof, 0.9)
        if value >= 6 and here in ("on", "in", "at", "over", "beside", "behind", "next"):
            proof += 0.8 if self._after(one, 1) in _PLACES or here not in ("on", "in") else 0.0
        elif value >= 11 and here in FUNCTION and here not in ("a", "an", "more"):
            proof += 0.5
        if self._before(one, 1) in ("for", "with", "by") and self._before(one, 2) in _NOTING:
            proof += 0.8
        return proof

    def _address(self, one: Figure) -> float:
        extra = 0.0
        spot = one.last
        if spot < len(self.words) and breaks(self.words, spot) and self.words[spot].folded in _YOU:
            extra += 0.3
        if self._after(one) in PRAISE and self._after(one, 1) in (
            "job",
            "work",
            "stuff",
            "one",
            "effort",
        ):
            extra += 0.9
        if (
            self._before(one, 2) in PRAISE
            and self._before(one, 1)
            in (
                "job",
                "work",
                "stuff",
                "one",
                "look",
            )
        ) or (
            self._before(one, 1) in ("done", "on", "thanks")
            and self._before(one, 2)
            in (
                "well",
                "come",
            )
        ):
            extra += 0.7
        return extra

    def _enumeration(self, one: Figure) -> float:
        """ "Number one thing", "number two, we box out" count up; "number four, you" does not."""
        following = self._after(one)
        if following in ENUMERATED:
            return -3.0
        value = int(one.value)
        if one.how == "hash" or value > 5:
            return 2.6
        spot = one.last
        nearby = self.words[spot].folded if spot < len(self.words) else ""
        if nearby in _YOU or (third_person(following) and following not in ("is", "was")):
            return 2.6
        mark = one.first - 1
        if self._counted_up(one):
            return 0.0
        alone = breaks(self.words, mark) or self._before(one, 2) in ("and", "so", "but", "okay")
        if value <= 3 and self._before(one, 2) in ("that's", "thats", "here's", "it's"):
            return 0.0
        if alone and (nearby in ("we", "our", "it", "the", "they") or following in ("is", "was")):
            return 0.0
        return 2.0

    def _counted_up(self, one: Figure) -> bool:
        """Number one and number two within a minute of each other: a list."""
        value = int(one.value)
        start = self.words[one.first].start_ms
        for spot in range(1, len(self.words)):
            if self.words[spot - 1].folded != "number" or spot == one.first:
                continue
            other = read_number(self.words[spot].folded)
            near = abs(self.words[spot].start_ms - start) <= 60_000
            if near and other.isdigit() and abs(int(other) - value) == 1 and int(other) <= 4:
                return value <= 3
        return False

    def _is_count(self, one: Figure, spots: dict[int, Figure]) -> bool:
        before, following = self._before(one, 1), self._after(one)
        comma = one.first > 0 and breaks(self.words, one.first)
        if not comma and before in BEFORE_COUNT:
            linked = before in ("for", "to", "of", "by", "with") and int(one.value) >= 6
            return not (linked and self._meets(one))
        if following in UNITS and not (
            following in ("in", "on") and int(one.value) >= 6 and self._after(one, 1) in _PLACES
        ):
            return True
        if self._among_numbers(one, spots):
            return True
        if following.endswith("s") and int(one.value) > 1 and not _only_verb(following):
            return int(one.value) <= 10 or not third_person(following)
        return False

    def _meets(self, one: Figure) -> bool:
        """ "Over to twelve", "a reminder for seven": somebody, where no thing follows."""
        before, over, here = self._before(one, 1), self._before(one, 2), self._after(one)
        if here and here not in FUNCTION:
            return False
        return over in _NOTING or (int(one.value) >= 11 and (before != "of" or over == "part"))

    def _among_numbers(self, one: Figure, spots: dict[int, Figure]) -> bool:
        following = spots.get(one.last)
        if following and not breaks(self.words, one.last):
            return True
        preceding = [other for other in spots.values() if other.last == one.first]
        if preceding and not breaks(self.words, one.first):
            return True
        middle = self._after(one)
        if middle in ("or", "to", "on", "v", "vs", "versus", "by", "against", "times", "plus"):
            other = spots.get(one.last + 1)
            if other:
                return True
        before = self._before(one, 1)
        return before in ("or", "to", "on", "v", "vs", "versus", "by") and any(
            other.last == one.first - 1 for other in spots.values()
        )

    # -- the other side

    def _opposing(self, one: Figure) -> bool:
        back = [self._before(one, step) for step in (1, 2, 3, 4)]
        mark = 1 if back[0] in _MARKS else 0
        if mark == 0 and one.first and "," in self.words[one.first - 1].after:
            return self._opposing_after(one)
        near = back[mark : mark + 2]
        if "our" in near:
            return False
        if near and (near[0] in _THEIRS or near[0] in _SIDES):
            return True
        if near[:1] == ["guard"] and near[1:] and near[1] in ("point", "shooting", "off", "two"):
            return False
        if near[:1] and near[0] in COLOURS - self.own_colours:
            return True
        if len(near) > 1 and near[1] in _THEIRS and near[0] in ("big", "little", "tall", "other"):
            return True
        if (
            near
            and near[0] in GUARDED
            and not (near[0] == "on" and mark == 0 and near[1:] == ["come"])
        ):
            return self._marked(one) or int(one.value) >= 6
        return self._opposing_after(one)

    def _opposing_after(self, one: Figure) -> bool:
        ahead = [self._after(one, step) for step in (0, 1, 2, 3)]
        if ahead[0] == "in" and ahead[1] in COLOURS:
            return ahead[1] not in self.own_colours
        if ahead[0] == "in" and ahead[1] == "the" and ahead[2] in COLOURS:
            return ahead[2] not in self.own_colours
        text = " ".join(word for word in ahead if word)
        return bool(
            re.match(
                r"(for|of|from|on) (them|theirs|the other (team|side|lot|end)|their)\b|on their|is their|was their"
                r"|(beats|burns|kills|hurts|scores on|killed|burned|hurt|beat|scored on) (us|you|me)\b",
                text,
            )
        )

    def _own_colours(self) -> frozenset[str]:
        found: set[str] = set()
        for spot, word in enumerate(self.words):
            if word.folded in COLOURS and spot >= 2:
                near = [one.folded for one in self.words[max(0, spot - 4) : spot]]
                ours = {"we're", "we", "us", "our", "ours"} & set(near)
                theirs = {"they", "they're", "them", "their"} & set(near)
                if "in" in near[-2:] and ours and not theirs:
                    found.add(word.folded)
        return frozenset(found)


def _only_verb(word: str) -> bool:
    """is, has, gets: never the plural of a thing."""
    return word in _CLEAR_VERBS


_CLEAR_VERBS = words_in(
    """
is was has does gets goes needs wants sees makes takes knows keeps comes gives lets loses finds
thinks tries sits stands brings catches throws reads you've isn't wasn't doesn't hasn't stays puts
sets this us always yes towards besides
"""
)
