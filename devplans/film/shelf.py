"""Where the finished pieces of a playable copy wait for the rest, each with its checksum.

A `Shelf` is a folder with one file for each piece and a manifest. What the manifest does not name,
or names with another checksum, was not finished. Loads no decoder.
"""

import hashlib
import json
import os
import shutil
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from devplans.film.facts import Probe
from devplans.film.faults import in_file_text

MANIFEST = "manifest.json"
SOUND = "sound.mp4"
_READ_AT_ONCE = 1 << 20


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A finished piece. `start` is its first frame's time in the copy, in seconds as a fraction.

    `frames` were written; `read` frames of the file `part` were read up to its end, the last one
    with the time stamp `last_pts`.
    """

    name: str
    part: int
    start: str
    frames: int
    read: int
    last_pts: int


@dataclass(frozen=True, kw_only=True)
class Part:
    """One of the film's files, read to its end. It begins at `start_ms` of the film; `end` is how
    long it can be read, in seconds as a fraction."""

    facts: dict[str, Any]
    start_ms: int
    end: str

    @property
    def probe(self) -> Probe:
        return Probe(**self.facts)

    @property
    def length_ms(self) -> int:
        """Up to the whole millisecond in which the next file begins."""
        return -int(-Fraction(self.end) * 1000 // 1)


class Shelf:
    """plan: what the pieces depend on; those made after another plan are thrown away."""

    def __init__(self, folder: Path, plan: str) -> None:
        self.folder = folder
        self.plan = plan
        self.segments: list[Segment] = []
        self.parts: list[Part] = []
        self.is_heard: bool | None = None
        self._sums: dict[str, str] = {}

    @classmethod
    def opened(cls, folder: Path, plan: str, *, checked: bool = True) -> "Shelf":
        """What is kept in `folder`, up to the first piece that is not as it was written."""
        shelf = cls(folder, plan)
        try:
            kept = json.loads((folder / MANIFEST).read_text())
        except (FileNotFoundError, ValueError):
            kept = {}
        if kept.get("plan") == plan:
            shelf._take(kept, checked=checked)
        return shelf

    def _take(self, kept: dict[str, Any], *, checked: bool) -> None:
        self._sums = kept["sums"]
        segments = [Segment(**one) for one in kept["segments"]]
        parts = [Part(**one) for one in kept["parts"]]
        for segment in segments:
            if checked and not self._is_whole(segment.name):
                # The file it belongs to is not read to its end any more.
                parts = parts[: segment.part]
                break
            self.segments.append(segment)
        self.parts = parts
        heard = kept["is_heard"]
        if len(self.segments) == len(segments) and not (heard and checked):
            self.is_heard = heard
        elif heard and len(self.segments) == len(segments) and self._is_whole(SOUND):
            self.is_heard = True

    def _is_whole(self, name: str) -> bool:
        try:
            return checksum(self.folder / name) == self._sums.get(name)
        except FileNotFoundError:
            return False

    def path(self, name: str) -> Path:
        return self.folder / name

    def keep(self, segment: Segment, made: Path) -> None:
        """Take a finished piece over from `made`."""
        self._move(made, segment.name)
        self.segments.append(segment)
        self._write()

    def keep_part(self, part: Part) -> None:
        self.parts.append(part)
        self._write()

    def keep_sound(self, made: Path | None) -> None:
        """made: None for a film without any sound."""
        if made is not None:
            self._move(made, SOUND)
        self.is_heard = made is not None
        self._write()

    def clear(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    def _move(self, made: Path, name: str) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        self._sums[name] = checksum(made)
        beside = self.folder / f"{name}.new"
        shutil.move(made, beside)
        _sync(beside)
        os.replace(beside, self.folder / name)

    def stored(self) -> Path:
        """The folder, with a manifest where anything is kept."""
        if self.segments or self.path(MANIFEST).exists():
            self._write()
        return self.folder

    def _write(self) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        kept = {
            "plan": self.plan,
            "segments": [asdict(one) for one in self.segments],
            "parts": [asdict(one) for one in self.parts],
            "is_heard": self.is_heard,
            "sums": self._sums,
        }
        beside = self.folder / f"{MANIFEST}.new"
        beside.write_text(json.dumps(kept))
        _sync(beside)
        os.replace(beside, self.folder / MANIFEST)


def taken_together(parts: list[Part], *, has_audio: bool) -> Probe:
    """The facts of the whole film: its shape is the first file's, its length that of all."""
    probes, last = [part.probe for part in parts], parts[-1]
    problems = [
        problem if len(probes) == 1 else in_file_text(number, problem)
        for number, problem in enumerate((probe.problem for probe in probes), start=1)
        if problem
    ]
    return replace(
        probes[0],
        duration_ms=last.start_ms + last.probe.duration_ms,
        announced_ms=sum(probe.announced_ms for probe in probes),
        frames=sum(probe.frames for probe in probes),
        hdr=any(probe.hdr for probe in probes),
        has_audio=has_audio,
        problem=" ".join(problems)[:300],
    )


def checksum(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal digits."""
    found = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_READ_AT_ONCE):
            found.update(piece)
    return found.hexdigest()


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
