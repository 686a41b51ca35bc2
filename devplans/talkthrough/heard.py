"""How far a talk is, and what was heard of it so far, as the film page shows it."""

from typing import Any

from django.urls import reverse

from devplans.talkthrough import hearing
from devplans.talkthrough.models import TalkThrough

MOST_LINES = 400


def facts(talk: TalkThrough) -> dict[str, Any]:
    """State, progress 0..1, the problem in words, and lines with their film times, in order; of a
    very long talk the last lines. so_far: while it is recorded, what was understood of it."""
    lines = list(talk.lines.order_by("-place")[:MOST_LINES])[::-1]
    return {
        "id": str(talk.pk),
        "kind": talk.kind,
        "state": talk.state,
        "progress": talk.progress,
        "problem": talk.problem,
        "suggestions": talk.suggestions.count(),
        "correct": reverse("talkthrough:correct", args=[talk.pk]),
        "so_far": hearing.words_of(talk) if talk.state == TalkThrough.State.RECORDING else [],
        "lines": [
            {"start_ms": line.film_start_ms, "end_ms": line.film_end_ms, "text": line.text}
            for line in lines
        ],
    }
