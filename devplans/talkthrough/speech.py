"""Speech as lines with times, on this machine and nowhere else.

    available() -> bool
    write_down(path, on_progress=f) -> [Cue, …]
    listen(path, from_ms=, on_heard=f, cancelled=f) -> length in ms

What is said about children stays on the server: the model lies in the wheel (or in the folder that
SPEECH_MODEL names), nothing is downloaded, and the process that hears has its network refused. It
also has limits on memory and time, since files are not to be trusted. Speech of up to four hours in
any file that PyAV opens; the words come in stretches of 20 to 40 seconds, cut where it is quietest.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from devplans.film import faults as film_faults
from devplans.film.child import Limits, Line, absolute, run_job, workshop
from devplans.film.faults import MediaError, NotAFilm
from devplans.talkthrough import speech_engine, speech_faults
from devplans.talkthrough.speech_faults import NoSpeech, Stopped
from devplans.talkthrough.understand.parts import Cue

__all__ = ["NoSpeech", "Stopped", "available", "listen", "why_not", "write_down"]

_HOUR_S = 3600
# Memory is address space: the engine maps far more than it uses. Four hours of speech take some
# twenty minutes on two cores.
LIMITS = Limits(
    memory_mb=3000, cpu_s=12 * _HOUR_S, wall_s=6 * _HOUR_S, quiet_s=120, file_mb=1, nice=10
)
_MODULE = "devplans.talkthrough.speech_child"
_REASONS = {
    film_faults.TOO_SLOW: speech_faults.TOO_SLOW,
    film_faults.OUT_OF_MEMORY: speech_faults.NO_MEMORY,
    film_faults.TOO_LARGE: speech_faults.BROKEN,
    film_faults.CRASHED: speech_faults.CRASHED,
}

# (cues of a stretch, heard up to here, of so many ms or None)
Heard = Callable[[list[Cue], int, int | None], None]


def available() -> bool:
    """Can this server write speech down?"""
    return not why_not()


def why_not() -> str:
    """Why it cannot, with what to do instead; "" where it can."""
    if not speech_engine.is_installed():
        return speech_faults.NOT_HERE
    return "" if _model() else speech_faults.NO_MODEL if _named() else speech_faults.NOT_HERE


def write_down(
    path: Path | str, *, on_progress: Callable[[float], None] | None = None
) -> list[Cue]:
    """All that is said in the file, in order; times from its beginning. on_progress: 0..1 of it.

    Raises NoSpeech with a reason to show. A file without a word in it is an empty list.
    """
    cues: list[Cue] = []

    def on_heard(new: list[Cue], heard_ms: int, of_ms: int | None) -> None:
        cues.extend(new)
        if on_progress and of_ms:
            on_progress(min(1.0, heard_ms / of_ms))

    listen(path, on_heard=on_heard)
    if on_progress:
        on_progress(1.0)
    return cues


def listen(
    path: Path | str,
    *,
    on_heard: Heard,
    from_ms: int = 0,
    cancelled: Callable[[], bool] | None = None,
    is_urgent: bool = False,
    limits: Limits = LIMITS,
) -> int:
    """Hand each stretch of speech to `on_heard` as soon as it is written down; the file's length.

    from_ms: what lies before it was heard earlier. is_urgent: somebody looks on. `cancelled` is
    asked twice a second and after each stretch; where it says True, Stopped is raised. Raises
    NoSpeech, and OSError where the file cannot be opened.
    """
    if reason := why_not():
        raise NoSpeech(reason)
    with open(path, "rb") as file:
        if not file.read(1):
            raise NoSpeech(speech_faults.EMPTY)
    listener = _Listener(on_heard, cancelled)
    try:
        with workshop() as folder:
            made = run_job(
                "hear",
                folder=folder,
                limits=replace(limits, nice=0) if is_urgent else limits,
                module=_MODULE,
                on_line=listener.take,
                cancelled=listener.is_cancelled,
                source=absolute(path),
                model=_model(),
                from_ms=from_ms,
            )
    except MediaError as error:
        if listener.was_cancelled:
            raise Stopped from error
        reason = _REASONS.get(error.reason, error.reason)
        raise NoSpeech(reason, error.detail, is_final=isinstance(error, NotAFilm)) from error
    return int(made["length_ms"])


class _Listener:
    def __init__(self, on_heard: Heard, cancelled: Callable[[], bool] | None) -> None:
        self._on_heard = on_heard
        self._cancelled = cancelled
        self.was_cancelled = False

    def take(self, line: Line) -> None:
        if "cues" in line:
            cues = [Cue(*cue) for cue in line["cues"]]
            self._on_heard(cues, int(line["heard_ms"]), line["of_ms"])

    def is_cancelled(self) -> bool:
        self.was_cancelled = bool(self._cancelled and self._cancelled())
        return self.was_cancelled


def _named() -> str:
    from django.conf import settings

    return str(settings.SPEECH_MODEL)


def _model() -> Path | None:
    if named := _named():
        folder = Path(named)
        return folder.resolve() if speech_engine.is_model(folder) else None
    return speech_engine.model_in_wheel()


def model_name() -> str:
    """Which model it is, for the people who run the server; "" where there is none."""
    found: Any = _model()
    return found.name if found else ""
