"""Run jobs on films in a child process with limits: uploaded files are never read in this one.

    probe(path) -> Probe
    prepare(source, playable=path, poster=path, shelf=folder, on_progress=f, cancelled=f) -> Probe
    sheets(playable, folder) -> how the pictures for the line are laid out
    still(source, ms) -> JPEG bytes
    cut_clip(source, out, start_ms=, end_ms=, cancelled=f) -> length in ms
    cut_voice(source, out, start_ms=, end_ms=) -> length in ms
    play_back(source, out, sound=, stretches=, layers=, length_ms=) -> length in ms

All raise NotAFilm (the file is at fault) or MediaError, both with a `.reason` to show, and then
leave nothing behind but what `prepare` has put on its shelf. Results appear at their paths whole or
not at all. `cancelled` is asked twice a second; when it says True, or a listener raises, the child
is killed.
"""

import json
import logging
import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from devplans.film.child import (
    Cancelled,
    Limits,
    Line,
    Progress,
    absolute,
    deliver,
    run_job,
    sweep,
    workshop,
)
from devplans.film.facts import Probe
from devplans.film.faults import OUT_OF_MEMORY, TOO_LARGE, NotAFilm, OutOfMemory
from devplans.film.shelf import SOUND, Part, Segment, Shelf, taken_together

__all__ = [
    "Limits", "cut_clip", "cut_voice", "kept_parts", "play_back", "prepare", "probe", "sheets",
    "still", "sweep",
]  # fmt: skip

logger = logging.getLogger(__name__)

_HOUR_S = 3600
PROBE_LIMITS = Limits(cpu_s=28, wall_s=29, nice=5)
STILL_LIMITS = Limits(cpu_s=28, wall_s=29)
SHEETS_LIMITS = Limits(cpu_s=1200, wall_s=1200, nice=10)
CLIP_LIMITS = Limits(cpu_s=600, wall_s=300, quiet_s=300, file_mb=256, nice=5)
VOICE_LIMITS = Limits(cpu_s=58, wall_s=59, quiet_s=59)
PREPARE_LIMITS = Limits(
    cpu_s=96 * _HOUR_S, wall_s=48 * _HOUR_S, quiet_s=30, file_mb=16_384, nice=10
)

SEGMENT_S = 60.0
# Pieces of another kind cannot be joined with these: raise it when the copy is written otherwise.
_COPY_VERSION = 1
# How much of the whole the pictures and the sound are.
_PICTURES, _SOUND = 0.94, 0.03


def probe(path: Path | str, *, limits: Limits = PROBE_LIMITS) -> Probe:
    """What the film is; a hostile file ends in NotAFilm within 30 s and 1 GB."""
    with workshop() as folder:
        return Probe(**run_job("probe", folder=folder, limits=limits, source=absolute(path)))


def prepare(
    source: Path | str | Sequence[Path | str],
    *,
    playable: Path | str,
    poster: Path | str,
    shelf: Path | None = None,
    on_progress: Progress | None = None,
    on_segment: Callable[[], None] | None = None,
    cancelled: Cancelled | None = None,
    limits: Limits = PREPARE_LIMITS,
    segment_s: float = SEGMENT_S,
) -> Probe:
    """Make the playable copy and the poster; the facts returned count what could be decoded.

    source: one file, or several that follow each other. What lies finished on the `shelf` is not
    made again, and what this call finishes stays there; without one it goes away. `on_segment` is
    called after each finished piece. A hostile file ends in NotAFilm within 30 s and 1 GB: it is
    looked at under tight limits first.
    """
    sources = [source] if isinstance(source, str | Path) else list(source)
    with workshop(Path(playable).parent) as folder:
        for one in sources:
            run_job("check", folder=folder, limits=PROBE_LIMITS, source=absolute(one))
        work = _Work(folder, sources, shelf, limits, segment_s, on_progress, on_segment, cancelled)
        work.copy_pictures()
        work.write_sound()
        work.join()
        deliver(folder / "poster.jpg", Path(poster))
        deliver(folder / "playable.mp4", Path(playable))
        return taken_together(work.shelf.parts, has_audio=bool(work.shelf.is_heard))


def kept_parts(
    shelf: Path, sources: Sequence[Path | str], *, segment_s: float = SEGMENT_S
) -> list[Part]:
    """Which of the sources lies where in the film that `prepare` has made of them."""
    return Shelf.opened(shelf, _plan(sources, segment_s), checked=False).parts


def _plan(sources: Sequence[Path | str], segment_s: float) -> str:
    sizes = [os.stat(source).st_size for source in sources]
    return json.dumps([_COPY_VERSION, float(segment_s), sizes])


class _Work:
    """The steps of one preparing, each in a child of its own."""

    def __init__(
        self,
        folder: Path,
        sources: Sequence[Path | str],
        shelf: Path | None,
        limits: Limits,
        segment_s: float,
        on_progress: Progress | None,
        on_segment: Callable[[], None] | None,
        cancelled: Cancelled | None,
    ) -> None:
        self.folder = folder
        self.sources = json.dumps([str(absolute(one)) for one in sources])
        self.segment_s = segment_s
        self.shelf = Shelf.opened(absolute(shelf or folder / "shelf"), _plan(sources, segment_s))
        self.limits = limits
        self.on_progress = on_progress
        self.on_segment = on_segment
        self.cancelled = cancelled

    def copy_pictures(self) -> None:
        """With fewer threads, which is less memory, where there was not enough of it."""
        try:
            self._copy_pictures(threads=0)
        except (OutOfMemory, NotAFilm) as error:
            if error.reason not in {OUT_OF_MEMORY, TOO_LARGE}:
                raise
            logger.warning("film job copy: not enough memory, once more with less")
            self._copy_pictures(threads=1)

    def _copy_pictures(self, *, threads: int) -> None:
        kept = self.shelf.stored()
        self._run(
            "copy",
            (0.0, _PICTURES),
            on_line=self._keep,
            shelf=kept,
            plan=self.shelf.plan,
            segment_s=self.segment_s,
            threads=threads,
        )

    def _keep(self, line: Line) -> None:
        if "part" in line:
            self.shelf.keep_part(Part(**line["part"]))
        elif "segment" in line:
            segment = Segment(**line["segment"])
            self.shelf.keep(segment, self.folder / Path(segment.name).name)
            if self.on_segment:
                self.on_segment()

    def write_sound(self) -> None:
        if self.shelf.is_heard is None:
            made = self._run(
                "sound",
                (_PICTURES, _SOUND),
                shelf=self.shelf.stored(),
                plan=self.shelf.plan,
                out=SOUND,
            )
            self.shelf.keep_sound(self.folder / SOUND if made["is_heard"] else None)

    def join(self) -> None:
        begun = _PICTURES + _SOUND
        self._run(
            "join",
            (begun, 1 - begun),
            shelf=self.shelf.stored(),
            plan=self.shelf.plan,
            playable="playable.mp4",
            poster="poster.jpg",
        )

    def _run(
        self,
        verb: str,
        span: tuple[float, float],
        *,
        on_line: Callable[[Line], None] | None = None,
        **options: Any,
    ) -> dict[str, Any]:
        begun, part = span

        def on_progress(share: float) -> None:
            if self.on_progress:
                self.on_progress(1.0 if share >= 1 and begun + part >= 1 else begun + part * share)

        return run_job(
            verb,
            folder=self.folder,
            limits=self.limits,
            on_progress=on_progress,
            on_line=on_line,
            cancelled=self.cancelled,
            sources=self.sources,
            is_forked=False,
            **options,
        )


def sheets(
    playable: Path | str,
    folder: Path,
    *,
    cancelled: Cancelled | None = None,
    on_progress: Progress | None = None,
    limits: Limits = SHEETS_LIMITS,
) -> dict[str, Any]:
    """Write sheets of small pictures of our own copy into `folder`; see devplans.film.sprite."""
    return run_job(
        "sheets",
        folder=folder,
        limits=limits,
        cancelled=cancelled,
        on_progress=on_progress,
        source=absolute(playable),
    )


def still(
    source: Path | str, ms: int, *, drawing: str = "", limits: Limits = STILL_LIMITS
) -> bytes:
    """JPEG of the original's frame on screen at `ms`; see devplans.film.stills.

    drawing: SVG of our own that is laid over it.
    """
    with workshop() as folder:
        run_job(
            "still",
            folder=folder,
            limits=limits,
            source=absolute(source),
            ms=max(0, ms),
            out="still.jpg",
            is_forked=True,
            **_with_drawing(folder, drawing),
        )
        return (folder / "still.jpg").read_bytes()


def cut_clip(
    source: Path | str,
    out: Path | str,
    *,
    start_ms: int,
    end_ms: int,
    drawing: str = "",
    drawn_ms: int = 0,
    cancelled: Cancelled | None = None,
    limits: Limits = CLIP_LIMITS,
) -> int:
    """Cut [start, end) of the source, at most 30 s and 720p; returns the clip's length in ms.

    drawing: SVG of our own, under which the frame at `drawn_ms` stands still for a while.
    """
    with workshop(Path(out).parent) as folder:
        made = run_job(
            "clip",
            folder=folder,
            limits=limits,
            cancelled=cancelled,
            source=absolute(source),
            out="clip.mp4",
            start_ms=start_ms,
            end_ms=end_ms,
            drawn_ms=drawn_ms,
            **_with_drawing(folder, drawing),
        )
        deliver(folder / "clip.mp4", Path(out))
        return int(made["duration_ms"])


def cut_voice(
    source: Path | str,
    out: Path | str,
    *,
    start_ms: int,
    end_ms: int,
    limits: Limits = VOICE_LIMITS,
) -> int:
    """Cut [start, end) of a recorded voice; see devplans.film.voice_sound. Its length in ms."""
    with workshop(Path(out).parent) as folder:
        made = run_job(
            "voice",
            folder=folder,
            limits=limits,
            source=absolute(source),
            out="voice.m4a",
            start_ms=start_ms,
            end_ms=end_ms,
        )
        deliver(folder / "voice.m4a", Path(out))
        return int(made["duration_ms"])


def play_back(
    source: Path | str,
    out: Path | str,
    *,
    sound: Path | str,
    stretches: Sequence[tuple[int, int, float]],
    layers: Iterable[tuple[int, str, tuple[float, ...] | None]] = (),
    length_ms: int,
    cancelled: Cancelled | None = None,
    limits: Limits = CLIP_LIMITS,
) -> int:
    """Make a clip of the film as it was on screen during `sound`; see devplans.film.playback.

    layers: with SVG of our own. Returns the clip's length in ms.
    """
    with workshop(Path(out).parent) as folder:
        (folder / "course.json").write_text(json.dumps(list(stretches)))
        with (folder / "layers.jsonl").open("w", encoding="utf-8") as lines:
            lines.writelines(f"{json.dumps(layer)}\n" for layer in layers)
        made = run_job(
            "talk",
            folder=folder,
            limits=limits,
            cancelled=cancelled,
            source=absolute(source),
            sound=absolute(sound),
            out="clip.mp4",
            length_ms=length_ms,
        )
        deliver(folder / "clip.mp4", Path(out))
        return int(made["duration_ms"])


def _with_drawing(folder: Path, drawing: str) -> dict[str, Any]:
    if not drawing:
        return {}
    (folder / "drawing.svg").write_text(drawing, encoding="utf-8")
    return {"drawing": "drawing.svg"}
