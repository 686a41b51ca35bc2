"""Whether the coach's voice may go along with a comment."""

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback import naming
from devplans.feedback import roster as comments_roster
from devplans.feedback.voices.services import LONGEST_MS
from devplans.talkthrough import roster
from devplans.talkthrough.models import Suggestion, TalkLine
from devplans.talkthrough.understand.parts import Cue
from devplans.talkthrough.understand.people import Finder
from devplans.talkthrough.understand.words import Word, words_of

# Times of words inside a line are estimates: what is said so near may be in the sound as well.
NEAR_MS = 1_500


def has_sound(suggestion: Suggestion) -> bool:
    """Is there sound of these words at all?"""
    take = suggestion.take
    return bool(take and take.sound_key) and suggestion.sound_end_ms > suggestion.sound_start_ms


def others_named(suggestion: Suggestion) -> list[str]:
    """The words in or near the sound that name players of the squad who are not addressed."""
    words = words_near(suggestion)
    if not words:
        return []
    film = suggestion.talk.film
    addressed = {str(pk) for pk in suggestion.players.values_list("pk", flat=True)}
    text = " ".join(word.text + word.after for word in words)
    entries = comments_roster.roster(film)
    others = [entry.named for entry in entries if str(entry.player.pk) not in addressed]
    found = [one.words for one in naming.find(text, others, careful=True)]
    return list(dict.fromkeys(found + _heard_of_others(suggestion, words, addressed)))


def _heard_of_others(suggestion: Suggestion, words: list[Word], addressed: set[str]) -> list[str]:
    found = []
    for mention in Finder(roster.of_film(suggestion.talk.film)).mentions(words):
        if mention.keys and not set(mention.keys[:1]) <= addressed:
            found.append(" ".join(word.text for word in words[mention.first : mention.last]))
    return found


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
    """Raise DomainError "voice.none", "voice.long" or "voice.names" unless the voice may go."""
    if not has_sound(suggestion):
        raise no_sound()
    if suggestion.sound_end_ms - suggestion.sound_start_ms > LONGEST_MS:
        message = _("That is more than a minute of talk: split it first.")
        raise DomainError("voice.long", message, field="voice")
    names = others_named(suggestion)
    if names:
        message = _("Your voice stays here: “%(names)s” can be heard, who is not addressed.")
        raise DomainError("voice.names", message % {"names": "”, “".join(names)}, field="voice")


def no_sound() -> DomainError:
    return DomainError("voice.none", _("There is no sound of these words."), field="voice")
