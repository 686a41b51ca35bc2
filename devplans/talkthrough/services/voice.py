"""Handing the sound of a suggestion over to its comment."""

from typing import Any

from devplans.feedback.models import Comment
from devplans.feedback.voices.services import keep_voice
from devplans.talkthrough import sounding
from devplans.talkthrough.models import Suggestion


def keep(*, actor: Any, suggestion: Suggestion, comment: Comment) -> None:
    """Give the sound of a suggestion to its comment. Raises DomainError."""
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
    keep_voice(
        actor=actor,
        comment=comment,
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
