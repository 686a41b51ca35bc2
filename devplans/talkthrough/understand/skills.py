"""Which skill of the catalogue a stretch of talk is about. Pure: words in, slugs out.

Two kinds of knowledge vote: phrases of the trade (fixtures/talk/phrases.csv, and a club's own) and
what whole texts have in common (those phrases, examples.csv and moments-*.csv). Rows whose slug
begins with `@` speak for a whole side of the game (contexts.csv says which skills belong to it).
"""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache

from devplans.talkthrough.understand import written
from devplans.talkthrough.understand.skills_learned import Learned
from devplans.talkthrough.understand.skills_phrases import Hit, Phrase, Phrases, compiled
from devplans.talkthrough.understand.skills_text import (
    Replacements,
    Token,
    replacements,
    tokens,
)

CLUB_WEIGHT = 400.0
# How much the phrases count beside the texts, how far the best must be ahead to be filled in, and
# how far the first two ahead of the third; set on invented moments of speakers left out in turn.
LEXICON = 0.15
AHEAD = 0.2
BOTH_AHEAD = 2.0
MAYBE = 3
NOT_SAID = re.compile(r"[{}]|_\w*")
# A single word that the examples of many skills share says little: (skills, most weight).
SHARED = ((9, 0.8), (4, 2.0))
# A sum of phrases of this weight counts for about two thirds of itself.
DAMPED = 8.0


class Lexicon:
    """Make one with `Lexicon.load()`; it never changes."""

    def __init__(
        self,
        phrases: Sequence[Phrase],
        learned: Learned,
        misheard: Replacements,
        contexts: dict[str, tuple[str, ...]],
        club: Sequence[Phrase] = (),
    ) -> None:
        self._own = phrases
        self._club = club
        self._phrases = Phrases([*phrases, *club])
        self._learned = learned
        self._misheard = misheard
        self._contexts = contexts

    @classmethod
    def load(cls) -> "Lexicon":
        """The lexicon that every club has; read once a process."""
        return _load()

    def with_phrases(self, phrases: Iterable[tuple[str, str]]) -> "Lexicon":
        """This lexicon and a club's own (slug, phrase), which outweigh what all clubs have. Slugs
        of a club's own skills are as good as those that every club has."""
        made = [
            compiled(slug, _without_signs(text), CLUB_WEIGHT, self._misheard)
            for slug, text in phrases
        ]
        club = [*self._club, *(phrase for phrase in made if phrase)]
        if len(club) == len(self._club):
            return self
        return Lexicon(self._own, self._learned, self._misheard, self._contexts, club)

    def rank(self, words: Sequence[str]) -> list[tuple[str, float]]:
        """(slug, score), best first. Scores are log-odds and may be negative: what counts is how
        far they stand apart. Empty where no word says anything about any skill."""
        found = tokens(words, self._misheard)
        return self._rank(found, self._phrases.find(found))

    def choose(self, words: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """(certain, maybe): what may be filled in (one, seldom two, none where hardly anything
        speaks for any) and what the coach is asked, best first."""
        ranked = self.rank(words)
        count = 0
        if len(ranked) == 1 or (ranked and ranked[0][1] - ranked[1][1] >= AHEAD):
            count = 1
        if len(ranked) > 2 and ranked[1][1] - ranked[2][1] >= BOTH_AHEAD:
            count = 2
        slugs = [slug for slug, _ in ranked]
        return tuple(slugs[:count]), tuple(slugs[count : count + MAYBE])

    def weight(self, words: Sequence[str]) -> float:
        """How much of the trade is in words, whatever the skill."""
        best: dict[int, float] = {}
        for hit in self._phrases.find(tokens(words, self._misheard)):
            best[hit.start] = max(best.get(hit.start, 0.0), hit.weight)
        return sum(best.values())

    def _lexical(self, hits: Sequence[Hit]) -> dict[str, float]:
        """What the phrases say for each skill; the same phrase again counts for less."""
        sums: dict[str, float] = {}
        times: dict[tuple[str, str], int] = {}
        for hit in hits:
            again = times.get((hit.slug, hit.text), 0)
            times[hit.slug, hit.text] = again + 1
            share = hit.weight / (1 + again) ** 2
            for slug in self._contexts.get(hit.slug, (hit.slug,)):
                sums[slug] = sums.get(slug, 0.0) + share
        return sums

    def _rank(self, found: Sequence[Token], hits: Sequence[Hit]) -> list[tuple[str, float]]:
        lexical = self._lexical(hits)
        stems = [token.stem for token in found]
        if not lexical and not self._learned.knows(stems):
            return []
        taught = self._learned.scores(stems)
        scores = {
            slug: LEXICON * _damped(lexical.get(slug, 0.0)) + taught.get(slug, 0.0)
            for slug in {**taught, **lexical}
        }
        ranked = sorted(scores.items(), key=lambda item: (-item[1], item[0]))
        return [(slug, round(score, 4)) for slug, score in ranked]


def _damped(weight: float) -> float:
    """Much of the same says a little more, not much more."""
    return math.copysign(DAMPED * math.log1p(abs(weight) / DAMPED), weight)


@cache
def _load() -> Lexicon:
    misheard = replacements((row["heard"], row["meant"]) for row in written.rows("misheard.csv"))

    def stems(text: str) -> list[str]:
        return [token.stem for token in tokens(text.split(), misheard)]

    sentences = [(row["slug"], stems(row["sentence"])) for row in written.rows("examples.csv")]
    shared: dict[str, set[str]] = {}
    for slug, words in sentences:
        for word in words:
            shared.setdefault(word, set()).add(slug)
    rows = written.rows("phrases.csv")
    phrases = [
        _weighed(phrase, shared)
        for row in rows
        if (phrase := compiled(row["slug"], row["phrase"], float(row["weight"]), misheard))
    ]
    contexts: dict[str, list[str]] = {}
    for row in written.rows("contexts.csv"):
        contexts.setdefault(row["context"], []).append(row["slug"])
    sides = {context: tuple(slugs) for context, slugs in contexts.items()}
    whole = [(slug, stems(text)) for slug, text in (*_moments(), *_phrase_texts(rows))]
    return Lexicon(phrases, Learned([*sentences, *whole]), misheard, sides)


def _moments() -> Iterable[tuple[str, str]]:
    for row in written.moments():
        yield row["skills"].split()[0], NOT_SAID.sub(" ", row["text"])


def _phrase_texts(rows: Iterable[Mapping[str, str]]) -> Iterable[tuple[str, str]]:
    for row in rows:
        if float(row["weight"]) > 0 and not row["slug"].startswith("@"):
            yield row["slug"], _without_signs(row["phrase"])


def _without_signs(phrase: str) -> str:
    return phrase.replace("*", " ").replace("|", " ")


def _weighed(phrase: Phrase, shared: dict[str, set[str]]) -> Phrase:
    if len(phrase.parts) > 1:
        return phrase
    skills = max((len(shared.get(word, ())) for word in phrase.parts[0].stems), default=0)
    for many, most in SHARED:
        if skills >= many and phrase.weight > most:
            return replace(phrase, weight=most)
    return phrase
