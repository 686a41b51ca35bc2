"""Sound for tests: recordings that come with the speech engine, voices out of Debian, and the
pieces in which a browser's recorder would send them."""

import importlib.util
import io
import shutil
import subprocess
import wave
from array import array
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import av

from devplans.talkthrough import speech
from tests.services import missing

# The opening of A Tale of Two Cities (Charles Dickens, 1859; public domain), which two_cities.wav
# reads.
TWO_CITIES = """
It was the best of times, it was the worst of times, it was the age of wisdom, it was the age of
foolishness, it was the epoch of belief, it was the epoch of incredulity, it was the season of
Light, it was the season of Darkness, it was the spring of hope, it was the winter of despair, we
had everything before us, we had nothing before us, we were all going direct to Heaven, we were all
going direct the other way - in short, the period was so far like the present period, that some of
its noisiest authorities insisted on its being received, for good or for evil, in the superlative
degree of comparison only.
"""


def recording(name: str) -> Path:
    """A file that comes with the engine; the test is left out where there is no engine."""
    if not speech.available():
        missing("moonshine-voice")
    spec = importlib.util.find_spec("moonshine_voice")
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / "assets" / name


Span = tuple[int, int]


def spoken(
    breaths: Sequence[tuple[str, float]], out: Path, *, voice: str, pause_s: float = 0.35
) -> list[Span]:
    """Texts with the silence (s) before each, read out into a WAV file; when each is said, in ms.
    voice: "flite:slt" or "espeak-ng:en-us"."""
    program, name = voice.split(":")
    if shutil.which(program) is None:
        missing(program)
    part = out.with_suffix(".part.wav")
    samples, rate = array("h"), 0
    spans = []
    for text, silence_s in breaths:
        said, rate = _said(program, name, text, part)
        samples.extend([0] * round((silence_s + (pause_s if samples else 0.2)) * rate))
        begin = len(samples)
        samples.extend(said)
        spans.append((begin * 1000 // rate, len(samples) * 1000 // rate))
    part.unlink(missing_ok=True)
    write_wav(out, samples, rate)
    return spans


def _said(program: str, name: str, text: str, out: Path) -> tuple["array[int]", int]:
    """One text, without the silence that the voice puts around it."""
    command = (
        ["espeak-ng", "-v", name, "-s", "160", "-w", str(out), text]
        if program == "espeak-ng"
        else ["flite", "-voice", name, "-t", text, "-o", str(out)]
    )
    subprocess.run(command, check=True, capture_output=True)
    with wave.open(str(out)) as file:
        rate = file.getframerate()
        samples = array("h")
        samples.frombytes(file.readframes(file.getnframes()))
    loud = [at for at in range(0, len(samples), 80) if max(map(abs, samples[at : at + 80])) > 300]
    return (samples[loud[0] : loud[-1] + 80] if loud else samples), rate


def write_wav(out: Path, samples: "array[int]", rate: int) -> Path:
    with wave.open(str(out), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(samples.tobytes())
    return out


def webm(source: Path, *, first_s: float = 0, length_s: float | None = None) -> bytes:
    """A stretch of a sound file as a recorder in a browser writes it: Opus in WebM, live."""
    made = io.BytesIO()
    options = {"live": "1", "cluster_time_limit": "1000"}
    with av.open(str(source)) as given, av.open(made, "w", format="webm", options=options) as to:
        stream: Any = to.add_stream("libopus", rate=48_000, layout="mono")
        resampler = av.AudioResampler(format="s16", layout="mono", rate=48_000, frame_size=960)
        written = 0
        for frame in given.decode(audio=0):
            frame.pts = None
            for block in resampler.resample(frame):
                at = written / 48_000
                written += block.samples
                if at >= first_s and (length_s is None or at < first_s + length_s):
                    block.pts = None
                    to.mux(stream.encode(block))
        to.mux(stream.encode(None))
    return made.getvalue()


def pieces(content: bytes, size: int = 8_000) -> list[bytes]:
    return [content[at : at + size] for at in range(0, len(content), size)]


def word_errors(said: str, heard: str) -> tuple[int, int]:
    """Words to be changed, added or taken away to make one of the other, and how many were said."""
    from devplans.talkthrough.understand.words import WORD, folded

    left = [folded(word) for word in WORD.findall(said)]
    right = [folded(word) for word in WORD.findall(heard)]
    row = list(range(len(right) + 1))
    for i, word in enumerate(left, 1):
        last, row[0] = row[0], i
        for j, other in enumerate(right, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (word != other))
    return row[-1], len(left)
