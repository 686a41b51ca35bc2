"""What a coach's talk over a film says about whom: moments, players, skills, verdicts. Pure."""

from collections.abc import Sequence

from devplans.talkthrough.understand import assemble
from devplans.talkthrough.understand.moments import Moment, moments
from devplans.talkthrough.understand.parts import Cue, LeftOut, RosterPlayer, Suggested, Understood
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.words import words_of


def understand(
    cues: Sequence[Cue], roster: Sequence[RosterPlayer], *, lexicon: Lexicon | None = None
) -> Understood:
    """Suggested comments out of talk with times, in order. Each word is in what one suggestion
    says, or in what is left out, with the reason."""
    words = words_of(cues)
    lexicon = lexicon or Lexicon.load()
    mentions = sorted(Finder(roster).mentions(words), key=lambda mention: mention.first)
    suggestions: list[Suggested] = []
    left: list[LeftOut] = []
    before: Moment | None = None
    for moment in moments(words, mentions):
        if moment.why:
            left.append(assemble.left_out(words, moment))
        else:
            suggestions.append(assemble.suggested(words, moment, before, mentions, lexicon))
            before = moment
    return Understood(tuple(suggestions), tuple(left))


__all__ = ["understand"]
