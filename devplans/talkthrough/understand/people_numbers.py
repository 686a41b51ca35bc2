"""Which numbers in a talk are players: their own, the other side's, or mere counts. Pure."""

from collections.abc import Iterator, Sequence

from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.people_figures import MARKS, Around, Figure, figures
from devplans.talkthrough.understand.people_grammar import breaks, evidence, is_verb, third_person
from devplans.talkthrough.understand.people_parts import FAINT, Mention, words_in
from devplans.talkthrough.understand.people_sides import own_colours, their_number
from devplans.talkthrough.understand.people_traps import (
    BEFORE_COUNT,
    COUNTED,
    ENUMERATED,
    PRAISE,
    UNITS,
)
from devplans.talkthrough.understand.people_words import FUNCTION
from devplans.talkthrough.understand.words import Word

NOT_A_PLAYER = -3.0
# With so much less evidence than is needed, a number is faint.
UNLIKELY = 2.0
PROOFS = (-1.0, -0.3, 0.3, 0.8, 1.2, 1.6, 2.0, 2.5, 3.0)
_YOU = words_in("you your you're you've you'll you'd youre youve yours")
_OURS = words_in("our my")
_NOTING = words_in(
    """
reminder note question word same one good message tip nice look job thing credit applause point
homework something advice
"""
)
_PLACES = words_in("the a corner wing top right left weak strong high low middle")
_ROLES = words_in("guard forward center centre big captain kid girl player wing lad boy")
_BETWEEN = words_in("or to on of from for v vs versus by times plus")
# What somebody does and never a thing.
_CERTAIN = words_in(
    """
is was has does goes gets needs wants sees makes takes knows keeps comes gives lets loses finds
thinks brings reads says puts isn't wasn't hasn't doesn't
"""
)
_WISHING = words_in("want wants wanted need needs like ask tell expect let have get for")
# Of these there is a number one and a number two.
_LISTED = words_in(
    """
rule possession set play clip page option question quarter drill film game step point mistake
reason rep trip pass dribble foul week day practice thing key lesson example stop clip video goal
phase problem part unit chapter level group court team seed plan look time
"""
)
_BODY = words_in("hands hand legs feet foot knees eyes arms head body bodies")
_DONE = words_in("job work stuff one effort look")


_SAYING = words_in("say says said saying call calls called")


class Numbers:
    """The numbers of one talk against those of a roster."""

    def __init__(
        self, words: Sequence[Word], roster: Sequence[RosterPlayer], taken: set[int]
    ) -> None:
        self.words = words
        self.keys = {player.number: player.key for player in roster if player.number}
        self.taken = taken
        self.own_colours = own_colours(words)
        self.figures = [
            one for one in figures(words) if taken.isdisjoint(range(one.first, one.last))
        ]
        self._starts = {one.first: one for one in self.figures}
        self._ends = {one.last: one for one in self.figures}
        self._lists = [
            one for one in self.figures if one.size <= 4 and Around(words, one).before() in MARKS
        ]

    def mentions(self) -> list[Mention]:
        """Numbers that are players or opponents, in order."""
        proofs = [self._proof(one, Around(self.words, one)) for one in self.figures]
        by_number = sum(map(self._clear, self.figures, proofs)) >= 2
        proofs = self._linked(self._scores(proofs), by_number)
        found = (
            self._mention(one, proof, by_number)
            for one, proof in zip(self.figures, proofs, strict=True)
        )
        return [one for one in found if one]

    def _clear(self, one: Figure, proof: float) -> bool:
        return one.value in self.keys and proof >= (1.7 if one.size >= 6 else 2.4)

    def _scores(self, proofs: Sequence[float]) -> list[float]:
        """ "Twelve, ten to them": a number beside a count is one."""
        out = list(proofs)
        for place in range(len(out) - 1):
            one, other = self.figures[place], self.figures[place + 1]
            parted = any(sign in self.words[other.first - 1].after for sign in ".!?")
            if one.last == other.first and not parted and min(proofs[place : place + 2]) < 0:
                nearby = Around(self.words, one).nearby
                if max(proofs[place : place + 2]) < 2 and nearby not in _YOU:
                    out[place] = out[place + 1] = NOT_A_PLAYER
        for place, one in enumerate(self.figures):
            if self._is_score(place) or self._is_formation(place):
                out[place] = NOT_A_PLAYER
            elif one.first and self.words[one.first - 1].folded in _SAYING:
                out[place] = min(out[place], 0.0)
        return out

    def _beside(self, place: int) -> bool:
        """Does the next number follow at once?"""
        if not 0 <= place < len(self.figures) - 1:
            return False
        one, other = self.figures[place], self.figures[place + 1]
        parted = any(sign in self.words[other.first - 1].after for sign in ".!?")
        return one.last == other.first and not parted

    def _is_score(self, place: int) -> bool:
        """ "Twelve, ten to them" """
        last = place + 1 if self._beside(place) else place
        if last == place and not self._beside(place - 1):
            return False
        end = self.figures[last].last
        behind = [word.folded for word in self.words[end : end + 2]]
        return behind[:1] in (["to"], ["for"]) and behind[1:] in (["them"], ["us"])

    def _is_formation(self, place: int) -> bool:
        """ "A two one two", "one three one" """
        return any(
            self._beside(first)
            and self._beside(first + 1)
            and all(len(self.figures[at].value) == 1 for at in range(first, first + 3))
            and not any(
                "," in self.words[self.figures[at].last - 1].after for at in (first, first + 1)
            )
            for first in range(max(0, place - 2), place + 1)
        )

    def _linked(self, proofs: Sequence[float], by_number: bool) -> list[float]:
        """ "Five and fourteen, a reminder": what is said of one number counts for the other."""
        out = list(proofs)
        for place in range(len(out) - 1):
            one, other = self.figures[place], self.figures[place + 1]
            between = self.words[one.last : other.first]
            if len(between) != 1 or between[0].folded not in ("and", "or"):
                continue
            known = one.value in self.keys and other.value in self.keys
            if not known or min(out[place : place + 2]) < 0:
                continue
            both = 1.5 if Around(self.words, other).after() in ("both", "you") else 0.0
            need, needed = self._need(one, by_number), self._need(other, by_number)
            if out[place] >= need or out[place + 1] >= needed or out[place] + both >= 1.5:
                out[place], out[place + 1] = max(out[place], need), max(out[place + 1], needed)
        return out

    def _mention(self, one: Figure, proof: float, by_number: bool) -> Mention | None:
        around = Around(self.words, one)
        first = one.first - 1 if around.before() in MARKS else one.first
        if their_number(around, self.own_colours):
            return Mention(first, one.last, (), True, "opponent")
        key = self.keys.get(one.value)
        if key is None:
            stranger = around.marked and proof >= 1.7
            return Mention(first, one.last, (), False, "unknown") if stranger else None
        need = self._need(one, by_number)
        if proof < need - UNLIKELY:
            return None
        kind = "number" if proof >= need - 0.4 else FAINT
        traits = tuple(self._traits(one, around, proof, by_number))
        return Mention(first, one.last, (key,), proof >= need, kind, traits)

    def _traits(self, one: Figure, around: Around, proof: float, by_number: bool) -> Iterator[str]:
        """What speaks for a player, for what is learned."""
        known = sum(proof > step for step in PROOFS)
        size = sum(one.size > step for step in (1, 3, 5, 10, 20))
        yield f"number proof {known} {by_number}"
        yield f"number size {size} proof {known}"
        yield f"number {one.how} {around.marked} {min(known, 6)}"
        yield f"number size {size} by number {by_number}"

    def _need(self, one: Figure, by_number: bool) -> float:
        if one.how == "pair":
            return 1.5 if by_number else 1.8
        if one.size >= 11 or one.value == "00":
            return 0.8 if by_number else 1.1
        if one.size >= 6 or one.value == "0":
            return 1.0 if by_number else 1.4
        return 1.2 if by_number else 1.9

    # -- what the words around say

    def _proof(self, one: Figure, around: Around) -> float:
        """How much speaks for a player: as `evidence`, 2 and more where he is called by number."""
        if around.marked:
            return self._called(one, around)
        ours = around.before() in _OURS and around.after() not in UNITS
        if ours and not self._among_numbers(one, around):
            return 2.2 if one.size >= 6 else 1.4
        if self._is_count(one, around):
            return NOT_A_PLAYER
        return self._grammar(one, around) + _address(around)

    def _grammar(self, one: Figure, around: Around) -> float:
        proof = evidence(self.words, one.first, one.last)
        here, before = around.after(), around.before()
        if one.size <= 10 and not here and around.nearby not in _YOU:
            proof = min(proof, 0.9)
        if before == "big" and one.size >= 11:
            proof += 0.8
        if 2 <= one.size <= 5 and here in _CERTAIN - {"is", "was"}:
            proof += 0.3
        if _acts(one, around):
            proof += 1.0
        if before == "by" and around.before(3) in PRAISE:
            proof += 0.8
        if before in ("for", "with", "by") and around.before(2) in _NOTING:
            proof += 0.8
        return proof + self._placed(one, around) + self._beside_names(one, around)

    def _placed(self, one: Figure, around: Around) -> float:
        """ "Eight on the left side": where somebody is."""
        here = around.after()
        if one.size >= 6 and here in ("at", "over", "beside", "behind", "next"):
            return 0.8
        if one.size >= 6 and here in ("on", "in"):
            return 0.8 if around.after(1) in _PLACES else 0.0
        return 0.5 if one.size >= 11 and here in FUNCTION - {"a", "an", "more"} else 0.0

    def _beside_names(self, one: Figure, around: Around) -> float:
        front = around.before() == "and" and one.first - 2 in self.taken
        behind = around.after() == "and" and one.last + 1 in self.taken
        return 1.0 * front + 1.0 * behind

    def _called(self, one: Figure, around: Around) -> float:
        """ "Number one thing", "number two, we box out" count up; "number four, you" does not."""
        following = around.after()
        if around.before(2) in _LISTED:
            return NOT_A_PLAYER
        if following == "of" and around.after(1) in ("ours", "us", "mine"):
            return 2.6
        if following in ENUMERATED and (one.size <= 5 or following in ("of", "in", "seed")):
            return NOT_A_PLAYER if one.size <= 10 else 1.0
        if one.how == "hash" or one.size > 5 or around.before(2) in _ROLES:
            return 2.6
        if around.nearby in _YOU or (third_person(following) and following not in ("is", "was")):
            return 2.6
        return 0.4 if 1 <= one.size <= 3 and self._counted_up(one, around) else 2.0

    def _counted_up(self, one: Figure, around: Around) -> bool:
        """Number one and number two within a minute of each other, or first of all: a list."""
        start = self.words[one.first].start_ms
        for other in self._lists:
            near = abs(self.words[other.first].start_ms - start) <= 60_000
            if near and abs(other.size - one.size) == 1:
                return True
        if around.before(2) in ("that's", "thats", "here's", "it's"):
            return True
        if around.after() in ("is", "was"):
            return True
        alone = breaks(self.words, one.first - 1) or around.before(2) in (
            "and",
            "so",
            "but",
            "okay",
        )
        return alone and around.nearby in ("we", "our", "it", "the", "they")

    def _is_count(self, one: Figure, around: Around) -> bool:
        before, following = around.before(), around.after()
        if _acts(one, around) or (around.before(2), before) == ("come", "on"):
            return False
        if before in BEFORE_COUNT and not breaks(self.words, one.first):
            linked = before in ("for", "to", "by", "with") and one.size >= 6
            return not (linked and _meets(one, around))
        if following == "and" and around.after(1) in ("a", "half", "change"):
            return True
        if following in ("to", "up", "all") and around.after(1) in ("them", "us", "at", "with"):
            return True
        placed = following in ("in", "on") and one.size >= 6 and around.after(1) in _PLACES
        if following in UNITS and not placed and not (one.size >= 11 and following in _BODY):
            return True
        return self._among_numbers(one, around) or _counts(one, following)

    def _among_numbers(self, one: Figure, around: Around) -> bool:
        if one.last in self._starts and not breaks(self.words, one.last):
            return True
        if one.first in self._ends and not breaks(self.words, one.first):
            return True
        if around.after() in _BETWEEN and one.last + 1 in self._starts:
            return True
        return around.before() in _BETWEEN and one.first - 1 in self._ends


def _acts(one: Figure, around: Around) -> bool:
    """ "We want twelve to shoot", "twelve presses the ball": what a count cannot do."""
    following, beyond = around.after(), around.after(1)
    if one.size < 11:
        return False
    if following == "to":
        return is_verb(beyond) and around.before() in _WISHING
    return is_verb(following) and beyond in ("the", "a", "it", "him", "her", "his", "their", "your")


def _counts(one: Figure, following: str) -> bool:
    """ "Three passes", "twelve turnovers": what follows are things."""
    if not following.endswith("s") or one.size == 1 or following in FUNCTION:
        return False
    if one.size <= 5:
        return following not in _CERTAIN
    if following in COUNTED:
        return one.size <= 10
    return not third_person(following)


def _meets(one: Figure, around: Around) -> bool:
    """ "Over to twelve", "a reminder for seven": somebody, where no thing follows."""
    following = around.after()
    if following and following not in FUNCTION | {"early", "late", "cutting", "open", "alone"}:
        return False
    return around.before(2) in _NOTING or one.size >= 11


def _address(around: Around) -> float:
    """More where he is spoken to: "two, you", "four good job", "well done four"."""
    extra = 0.3 if not around.after() and around.nearby in _YOU else 0.0
    if around.after() in PRAISE and around.after(1) in _DONE:
        extra += 0.9
    praised = around.before(2) in PRAISE and around.before() in _DONE
    if praised or (around.before(2), around.before()) in (("well", "done"), ("come", "on")):
        extra += 0.7
    return extra
