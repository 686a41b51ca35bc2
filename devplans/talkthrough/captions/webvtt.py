"""Cues as a WebVTT file (W3C). Pure."""

from collections.abc import Iterable

from devplans.feedback.webvtt import ARROW, escaped, stamp
from devplans.talkthrough.understand.parts import Cue


def written(cues: Iterable[Cue]) -> str:
    """Cues in their order; one without a length gets a millisecond, since it must have one."""
    blocks = ["WEBVTT"]
    for cue in cues:
        end_ms = max(cue.end_ms, cue.start_ms + 1)
        words = escaped(" ".join(cue.text.split()))
        blocks.append(f"{stamp(cue.start_ms)} {ARROW} {stamp(end_ms)}\n{words}")
    return "\n\n".join(blocks) + "\n"
