"""Handing the sound of a suggestion over to its comment.

It is cut out first, which takes a while and asks nothing of the database, and kept with the comment
afterwards, within its transaction.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback.voices.stretch import Sound, cut_sound, drop_sound
from devplans.talkthrough import sounding
from devplans.talkthrough.models import Suggestion


@contextmanager
def cut(suggestion: Suggestion) -> Iterator[Sound | None]:
    """The sound that goes along with what is made of `suggestion`, None without its voice. Where
    the block does not come to its end the file is gone. Raises DomainError "voice..."."""
    if not suggestion.with_voice:
        yield None
        return
    sound = _cut(suggestion)
    try:
        yield sound
    except BaseException:
        drop_sound(sound)
        raise


def _cut(suggestion: Suggestion) -> Sound:
    try:
        return _cut_stretch(suggestion)
    except DomainError as error:
        instead = _("Or accept it without your voice.")
        raise DomainError(error.code, f"{error} {instead}", field="voice") from error


def _cut_stretch(suggestion: Suggestion) -> Sound:
    sounding.check(suggestion)
    take = suggestion.take
    if take is None:
        raise sounding.no_sound()
    first, last = suggestion.sound_start_ms, suggestion.sound_end_ms
    cues = [
        [max(0, word.start_ms - first), min(last, word.end_ms) - first, word.text + word.after]
        for word in sounding.words_near(suggestion)
        if word.end_ms > first and word.start_ms < last
    ]
    return cut_sound(
        film=suggestion.talk.film,
        players=list(suggestion.players.all()),
        source_key=take.sound_key,
        start_ms=first,
        end_ms=last,
        log=take.log,
        cues=_sentences(cues),
    )


def _sentences(words: list[list[Any]]) -> list[list[Any]]:
    """Words as captions: a new one after a sentence, and after some twelve words."""
    cues: list[list[Any]] = []
    count = 0
    for start, end, text in words:
        if not cues or count >= 12 or cues[-1][2].rstrip().endswith((".", "!", "?")):
            cues.append([start, end, text])
            count = 1
        else:
            cues[-1][1:] = [end, f"{cues[-1][2]} {text}"]
            count += 1
    return cues
