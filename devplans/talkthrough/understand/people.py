"""Which players of a roster a talk speaks of, and by which words. Pure.

A name counts by its letters, by its usual short forms and by how it sounds to English ears; a
number where the words around make a player of it. Everyday words need grammar on their side.
"""

from collections import Counter
from collections.abc import Sequence

from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.people_forms import Forms
from devplans.talkthrough.understand.people_grammar import breaks, evidence
from devplans.talkthrough.understand.people_names import FAINT_RANK, Names
from devplans.talkthrough.understand.people_numbers import Numbers
from devplans.talkthrough.understand.people_parts import FAINT, Guess, Mention, words_in
from devplans.talkthrough.understand.people_settle import settle
from devplans.talkthrough.understand.people_sides import their_name
from devplans.talkthrough.understand.people_words import plain_english
from devplans.talkthrough.understand.words import Word

__all__ = ["Finder", "Mention"]

_LINKS = words_in("and or to from with plus then by for nor")
_TITLES = words_in(
    """
mr mrs ms miss mister coach assistant doctor dr ref referee professor sir uncle aunt auntie dad
mum mom manager physio captain's principal teacher umpire
"""
)
_POLITE = words_in("mr mrs ms miss mister sir dr doctor captain professor")

_ENDEARING = words_in("pet love hen hon honey dear duck pal mate bud buddy bro dude champ darling")


class Finder:
    """Finds the players of one roster in talks."""

    def __init__(self, roster: Sequence[RosterPlayer]) -> None:
        self._roster = tuple(roster)
        self._forms = Forms(self._roster)

    def mentions(self, words: Sequence[Word]) -> list[Mention]:
        """All mentions of a whole talk in order, none overlapping, but for the faint ones."""
        return self.heard(words)[0]

    def heard(self, words: Sequence[Word]) -> tuple[list[Mention], list[Mention]]:
        """(mentions, faint ones) of a whole talk, in order, none overlapping."""
        if not words:
            return [], []
        names = Names(words, self._forms)
        first_look = _without_overlaps([one for one in names.guesses({}) if one.rank != FAINT_RANK])
        guesses = names.guesses(_bonuses(words, first_look))
        faint = [_faint(one) for one in guesses if one.rank == FAINT_RANK]
        chosen = _without_overlaps([one for one in guesses if one.rank != FAINT_RANK])
        strangers = frozenset(
            words[guess.first].folded
            for guess in chosen
            if titled(words, guess.first) and not _called_sir(words, guess)
        )
        chosen = [guess for guess in chosen if not _endearing(words, guess)]
        found = [_as_mention(words, guess, strangers) for guess in chosen]
        shared = frozenset(one.first for one in chosen if not one.sure and not one.doubtful)
        taken = {spot for one in found for spot in range(one.first, one.last)}
        numbers = Numbers(words, self._roster, taken).mentions()
        faint += [one for one in numbers if one.kind == FAINT]
        numbers = [one for one in numbers if one.kind != FAINT]
        taken |= {spot for one in numbers for spot in range(one.first, one.last)}
        found += numbers + _strangers(names, taken)
        taken = {spot for one in found for spot in range(one.first, one.last)}
        faint = [one for one in faint if taken.isdisjoint(range(one.first, one.last))]
        settled = settle(words, sorted(found, key=lambda one: one.first), shared)
        return settled, sorted(faint, key=lambda one: one.first)


def _without_overlaps(guesses: Sequence[Guess]) -> list[Guess]:
    taken: set[int] = set()
    chosen: list[Guess] = []
    for guess in sorted(guesses, key=lambda one: (-one.rank, one.first)):
        spots = range(guess.first, guess.last)
        if taken.isdisjoint(spots):
            taken.update(spots)
            chosen.append(guess)
    return sorted(chosen, key=lambda one: one.first)


def _bonuses(words: Sequence[Word], chosen: Sequence[Guess]) -> dict[int, float]:
    """What the clear mentions say about other words: named in one breath with them, or a word that
    this speaker uses as a name elsewhere."""
    sure = [guess for guess in chosen if guess.sure]
    used = Counter(words[one.first].folded for one in sure if one.last - one.first == 1)
    bonus = {
        spot: 0.3
        for spot, word in enumerate(words)
        if used[word.folded] >= 2 or (used[word.folded] and not plain_english(word.folded))
    }
    for guess in sure:
        for spot in (guess.last + 1, guess.first - 2):
            between = guess.last if spot > guess.last else guess.first - 1
            if 0 <= spot < len(words) and words[between].folded in _LINKS:
                linked = words[between].folded in ("and", "or", "nor", "plus")
                bonus[spot] = bonus.get(spot, 0.0) + (1.2 if linked else 0.5)
    return bonus


def titled(words: Sequence[Word], first: int) -> bool:
    """Whether a title before says that the name is not a player's: Mr Day, my assistant Darren."""
    if first <= 0 or (breaks(words, first) and words[first - 1].after != "."):
        return False
    return words[first - 1].folded in _TITLES


def _called_sir(words: Sequence[Word], guess: Guess) -> bool:
    """ "Mr Day, from over there?": a player addressed in jest, while nobody is thanked."""
    if words[guess.first - 1].folded not in _POLITE or not guess.exact:
        return False
    before = {word.folded for word in words[max(0, guess.first - 4) : guess.first - 1]}
    behind = words[guess.last].folded if guess.last < len(words) else ""
    return not before & {"thank", "thanks", "cheers", "and"} and behind not in ("senior", "sr")


def _endearing(words: Sequence[Word], guess: Guess) -> bool:
    """ "Pet", "hon": what anybody is called, unless the roster has just that as a name."""
    alone = guess.last - guess.first == 1
    return alone and not guess.exact and words[guess.first].folded in _ENDEARING


def _faint(guess: Guess) -> Mention:
    return Mention(guess.first, guess.last, guess.keys, False, FAINT, guess.traits)


def _as_mention(words: Sequence[Word], guess: Guess, strangers: frozenset[str]) -> Mention:
    if their_name(words, guess.first):
        return Mention(guess.first, guess.last, (), True, "opponent")
    if not guess.exact and words[guess.first].folded in strangers:
        return Mention(guess.first, guess.last, (), False, "unknown")
    if titled(words, guess.first) and not _called_sir(words, guess):
        return Mention(guess.first, guess.last, (), False, "unknown")
    return Mention(guess.first, guess.last, guess.keys, guess.sure, "name", guess.traits)


def _strangers(names: Names, taken: set[int]) -> list[Mention]:
    """Names of nobody on the roster: words of no language, used or written like a name."""
    found: list[Mention] = []
    for spot, text in enumerate(names.plain):
        if spot in taken or plain_english(text) or len(text) < 3 or not text.isalpha():
            continue
        kind = "opponent" if their_name(names.words, spot) else "unknown"
        proof = evidence(names.words, spot, spot + 1)
        if kind == "opponent" or names.capital(spot) > 0 or proof >= 1.3:
            if found and found[-1].last == spot and not breaks(names.words, spot):
                last = found.pop()
                found.append(Mention(last.first, spot + 1, (), last.sure, last.kind))
            else:
                found.append(Mention(spot, spot + 1, (), kind == "opponent", kind))
    return found
