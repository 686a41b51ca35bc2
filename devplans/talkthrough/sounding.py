"""Whether the coach's voice may go along with a comment."""

from functools import lru_cache

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback import roster as comments_roster
from devplans.feedback.voices import keeping
from devplans.feedback.voices.stretch import require_length
from devplans.talkthrough import roster
from devplans.talkthrough.models import Suggestion, TalkLine
from devplans.talkthrough.understand.parts import Cue, RosterPlayer
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.words import Word, words_of

# Times of words inside a line are estimates: what is said so near may be in the sound as well.
NEAR_MS = 1_500


def has_sound(suggestion: Suggestion) -> bool:
    """Is there sound of these words at all?"""
    take = suggestion.take
    return bool(take and take.sound_key) and suggestion.sound_end_ms > suggestion.sound_start_ms


def others_named(suggestion: Suggestion) -> list[str]:
    """The words in or near the sound that name whom a comment's voice must not name: its own rule,
    and the spellings that talks have taught."""
    words = words_near(suggestion)
    if not words:
        return []
    players = list(suggestion.players.all())
    text = " ".join(word.text + word.after for word in words)
    entries = comments_roster.roster(suggestion.talk.film, extra=players)
    found = keeping.names_in([text], entries, [player.pk for player in players])
    # To several players nobody may be named: one's clip is another one's.
    spared = {str(player.pk) for player in players} if len(players) == 1 else set()
    return list(dict.fromkeys(found + _heard_of_others(suggestion, words, spared)))


def _heard_of_others(suggestion: Suggestion, words: list[Word], spared: set[str]) -> list[str]:
    found = []
    for mention in _finder(tuple(roster.of_film(suggestion.talk.film))).mentions(words):
        # Where it is not sure who was named, it may be any of them.
        meant = mention.keys[:1] if mention.sure else mention.keys
        if not set(meant) <= spared:
            found.append(" ".join(word.text for word in words[mention.first : mention.last]))
    return found


@lru_cache(maxsize=8)
def _finder(players: tuple[RosterPlayer, ...]) -> Finder:
    """A page asks for every suggestion of one talk."""
    return Finder(players)


def _lines_near(suggestion: Suggestion) -> list[TalkLine]:
    lines = suggestion.talk.lines.filter(
        take=suggestion.take,
        end_ms__gt=max(0, suggestion.sound_start_ms - NEAR_MS),
        start_ms__lt=suggestion.sound_end_ms + NEAR_MS,
    )
    return list(lines.order_by("place"))


def words_near(suggestion: Suggestion) -> list[Word]:
    cues = [Cue(line.start_ms, line.end_ms, line.text) for line in _lines_near(suggestion)]
    first = suggestion.sound_start_ms - NEAR_MS
    last = suggestion.sound_end_ms + NEAR_MS
    return [word for word in words_of(cues) if word.end_ms > first and word.start_ms < last]


def check(suggestion: Suggestion) -> None:
    """Raise DomainError "voice.none", "voice.long" or "voice.names" unless the voice may go, as
    `feedback.voices` has it."""
    if not has_sound(suggestion):
        raise no_sound()
    require_length(suggestion.sound_start_ms, suggestion.sound_end_ms)
    names = others_named(suggestion)
    if names:
        raise keeping.refusal(names)


def trouble(suggestion: Suggestion) -> str:
    """Why the voice of an open suggestion cannot go along, in words, or "". Names are looked for
    only where it should go along: setting it asks for them."""
    try:
        if suggestion.with_voice:
            check(suggestion)
        elif has_sound(suggestion):
            require_length(suggestion.sound_start_ms, suggestion.sound_end_ms)
    except DomainError as error:
        return str(error)
    return ""


def no_sound() -> DomainError:
    return DomainError("voice.none", _("There is no sound of these words."), field="voice")
