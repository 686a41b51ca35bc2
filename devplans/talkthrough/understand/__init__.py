"""What a coach's talk over a film says about whom: moments, players, skills, verdicts. Pure."""

from collections.abc import Sequence

from devplans.talkthrough.understand import assemble
from devplans.talkthrough.understand.moments import OTHERS, Learned, Moment, moments
from devplans.talkthrough.understand.parts import Cue, LeftOut, RosterPlayer, Suggested, Understood
from devplans.talkthrough.understand.people import Finder, Mention
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
    mentions, faint = Finder(roster).heard(words)
    found = moments(words, mentions, weights, faint)
    mentions = with_faint(mentions, found, faint)
    suggestions: list[Suggested] = []
    left: list[LeftOut] = []
    before: Moment | None = None
    for moment in found:
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
    mentions, faint = Finder(roster).heard(words)
    found = moments(words, mentions, faint=faint)
    mentions = with_faint(mentions, found, faint)
    whole = Moment()
    for moment in found:
        whole.units += moment.units
        if moment.why != OTHERS:
            whole.judged += moment.judged
            whole.asked += moment.asked
    return assemble.suggested(words, whole, None, mentions, lexicon or Lexicon.load())


def with_faint(
    mentions: Sequence[Mention], found: Sequence[Moment], faint: Sequence[Mention]
) -> list[Mention]:
    """The mentions, with those of the faint ones that turned out to name somebody."""
    places = {one.first for one in faint}
    more = {
        one.first: one
        for moment in found
        for one in (*moment.judged, *moment.asked)
        if one.first in places
    }
    return sorted((*mentions, *more.values()), key=lambda one: one.first)


__all__ = ["understand", "understand_as_one"]
