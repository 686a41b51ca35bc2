"""What a coach is told of a film that is ready: how it was filmed, and what we made of it."""

from collections.abc import Sequence
from statistics import median
from typing import Any

from django.utils.translation import gettext as _

from devplans.film.facts import MOST_FPS, Probe

# Rounding to whole milliseconds moves a step by one; a camera that keeps its beat by no more.
_STEADY_MS = 2
_STEADY_SHARE = 0.1
_MAY_STRAY = 0.02


def is_variable(steps: Sequence[int]) -> bool:
    """Do the frames follow each other in uneven steps? steps: milliseconds, see frame_times."""
    if not steps:
        return False
    usual = median(steps)
    most = max(_STEADY_MS, usual * _STEADY_SHARE)
    return sum(abs(step - usual) > most for step in steps) > _MAY_STRAY * len(steps)


def notes_of(facts: Probe, steps: Sequence[int], *, files: int) -> list[dict[str, Any]]:
    """Notes as they are kept, each with its `kind`; nothing for a film like any other."""
    found: list[dict[str, Any]] = []
    if files > 1:
        found.append({"kind": "joined", "files": files})
    if facts.rotation:
        found.append({"kind": "turned", "degrees": facts.rotation})
    if facts.rate > MOST_FPS:
        found.append({"kind": "halved", "rate": round(facts.rate)})
    if is_variable(steps):
        found.append({"kind": "variable"})
    if facts.hdr:
        found.append({"kind": "hdr"})
    if facts.problem:
        found.append({"kind": "cut_off", "of_ms": max(facts.announced_ms, facts.duration_ms)})
    return found


def words_of(notes: Sequence[dict[str, Any]]) -> list[str]:
    """The notes in sentences for the coach; what is cut off says `Film.problem`."""
    return [sentence for note in notes if (sentence := _sentence(note))]


def _sentence(note: dict[str, Any]) -> str:
    kind = note.get("kind")
    if kind == "joined":
        return _("Made of %(files)s files, one after the other.") % {"files": note["files"]}
    if kind == "turned":
        return _("The camera was held turned; the picture is set upright.")
    if kind == "halved":
        return _("Filmed at %(rate)s pictures a second; every second one is shown.") % {
            "rate": note["rate"]
        }
    if kind == "variable":
        return _("Its pictures come in uneven steps; each one keeps its own time.")
    if kind == "hdr":
        return _(
            "Filmed in HDR; its colours are toned down for ordinary screens. "
            "With HDR off in the camera they come out truer."
        )
    return ""
