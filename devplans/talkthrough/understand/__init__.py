"""What a coach's talk over a film says about whom: moments, players, skills, verdicts. Pure."""

from collections.abc import Sequence

from devplans.talkthrough.understand import assemble
from devplans.talkthrough.understand.moments import OTHERS, Learned, Moment, moments
from devplans.talkthrough.understand.parts import Cue, LeftOut, RosterPlayer, Suggested, Understood
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.words import words_of


def understand(
    cues: Sequence[Cue],
    roster: Sequence[RosterPlayer],
    *,
    lexicon: Lexicon | None = None,
    weights: Learned | None = None,
) -> Understood:
    """Suggested comments out of talk with times, in order. Each word is in what one suggestion
    says, or in what is left out, with the reason. weights: other than those on file, to cut with.
    """
    words = words_of(cues)
    lexicon = lexicon or Lexicon.load()
    mentions = sorted(Finder(roster).mentions(words), key=lambda mention: mention.first)
    suggestions: list[Suggested] = []
    left: list[LeftOut] = []
    before: Moment | None = None
    for moment in moments(words, mentions, weights):
        if moment.why:
            left.append(assemble.left_out(words, moment))
        else:
            suggestions.append(assemble.suggested(words, moment, before, mentions, lexicon))
            before = moment
    return Understood(tuple(suggestions), tuple(left))


def understand_as_one(
    cues: Sequence[Cue], roster: Sequence[RosterPlayer], *, lexicon: Lexicon | None = None
) -> Suggested:
    """All of the talk as one suggestion, whoever it names, or nobody. Raises ValueError where there
    is no word in it."""
    words = words_of(cues)
    if not words:
        raise ValueError("no words")
    mentions = sorted(Finder(roster).mentions(words), key=lambda mention: mention.first)
    whole = Moment()
    for moment in moments(words, mentions):
        whole.units += moment.units
        if moment.why != OTHERS:
            whole.judged += moment.judged
            whole.asked += moment.asked
    return assemble.suggested(words, whole, None, mentions, lexicon or Lexicon.load())


__all__ = ["understand", "understand_as_one"]
