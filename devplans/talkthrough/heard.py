"""How far a talk is, and what was heard of it so far, as the film page shows it."""

from typing import Any

from django.urls import reverse

from devplans.feedback.models import Comment
from devplans.talkthrough import hearing
from devplans.talkthrough.models import TalkLine, TalkThrough
from devplans.talkthrough.spoken import of
from devplans.talkthrough.understand.words import WORD
from devplans.talkthrough.writer import Writer, understood_as_one

MOST_LINES = 400


def facts(talk: TalkThrough) -> dict[str, Any]:
    """State, progress 0..1, the problem in words, and lines with their film times, in order; of a
    very long talk the last lines. so_far: while it is recorded, what was understood of it; comment:
    of one moment, what a comment would say."""
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
        "comment": comment_of(talk) if _is_heard_moment(talk, lines) else None,
        "lines": [
            {"start_ms": line.film_start_ms, "end_ms": line.film_end_ms, "text": line.text}
            for line in lines
        ],
    }


def _is_heard_moment(talk: TalkThrough, lines: list[TalkLine]) -> bool:
    is_ready = talk.kind == TalkThrough.Kind.MOMENT and talk.state == TalkThrough.State.READY
    return is_ready and any(WORD.search(line.text) for line in lines)


def comment_of(talk: TalkThrough) -> dict[str, Any]:
    """All that was said, as one comment: `players` are ids, `skill` is a name; both, and `verdict`
    and `do_instead`, are empty where they were not heard for certain."""
    spoken = of(talk)
    writer = Writer(talk, spoken)
    found = understood_as_one(talk, spoken.cues())
    fields = writer.fields(found)
    return {
        "players": [key for key in found.players if key in writer.players],
        "skill": fields["skill"].name if fields["skill"] else "",
        "verdict": fields["verdict"] if fields["verdict"] != Comment.Verdict.NOTE else "",
        "happened": fields["happened"],
        "do_instead": fields["do_instead"],
    }
