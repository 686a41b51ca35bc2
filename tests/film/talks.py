"""A film that flashes each second and carries its frames' numbers, and voices that beep each
second; and what can be seen and heard of them in a clip."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

SIZE = (320, 180)
FPS = 30
FLASH_FRAMES = 3
BITS = 10
RATE = 48_000
BEEP_S = 0.1
GROUND, WHITE, BLACK = 70, 235, 20
# Rows of the picture: the number on top, the flash below it, the rest is drawn on.
NUMBER, FLASH = slice(0, 30), slice(34, 70)


def write_film(path: Path, seconds: int, *, fps: int = FPS, size: tuple[int, int] = SIZE) -> Path:
    """fps * seconds frames; those that begin a second flash for a tenth of it."""
    with av.open(str(path), "w", options={"movflags": "+faststart"}) as container:
        stream = container.add_stream("libx264", rate=fps)
        stream.width, stream.height = size
        stream.pix_fmt = "yuv420p"
        stream.options = {"preset": "ultrafast", "g": str(2 * fps), "bf": "0"}
        for number in range(fps * seconds):
            frame = av.VideoFrame.from_ndarray(_planes(number, fps, size), format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, fps)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def _planes(number: int, fps: int, size: tuple[int, int]) -> np.ndarray:
    width, height = size
    planes = np.full((height * 3 // 2, width), 128, np.uint8)
    planes[:height] = GROUND
    for bit in range(BITS + 2):
        left, right = bit * width // (BITS + 2), (bit + 1) * width // (BITS + 2)
        is_set = number >> (BITS + 1 - bit) & 1
        planes[_scaled(NUMBER, height), left:right] = WHITE if is_set else BLACK
    if number % fps < fps * FLASH_FRAMES // FPS:
        planes[_scaled(FLASH, height)] = WHITE
    return planes


def _scaled(rows: slice, height: int) -> slice:
    return slice(rows.start * height // SIZE[1], rows.stop * height // SIZE[1])


def write_voice(path: Path, seconds: float) -> Path:
    """A beep at each full second. A .webm is written as a browser's recorder does it: as a stream,
    without a length and without an index."""
    kind = path.suffix[1:]
    codec, form = {
        "webm": ("libopus", "webm"), "wav": ("pcm_s16le", "wav"),
        "mp4": ("aac", "mp4"), "ogg": ("libopus", "ogg"),
    }[kind]  # fmt: skip
    options = {
        "webm": {"live": "1", "cluster_time_limit": "1000"},
        "mp4": {
            "movflags": "frag_keyframe+empty_moov+default_base_moof",
            "frag_duration": "1000000",
        },
    }.get(kind, {})
    times = np.arange(int(seconds * RATE)) / RATE
    loud = np.sin(times * 2 * np.pi * 1000) * 9_000 * (times % 1 < BEEP_S)
    murmur = np.random.default_rng(3).normal(0, 30, len(times))
    samples = (loud + murmur).astype(np.int16)
    with av.open(str(path), "w", format=form, options=options) as container:
        stream = container.add_stream(codec, rate=RATE, layout="mono")
        for first in range(0, len(samples), 960):
            block = av.AudioFrame.from_ndarray(
                samples[None, first : first + 960], format="s16", layout="mono"
            )
            block.sample_rate, block.pts, block.time_base = RATE, first, Fraction(1, RATE)
            container.mux(stream.encode(block))
        container.mux(stream.encode(None))
    return path


def beeps_in(path: Path) -> list[float]:
    """Seconds at which a tone begins, of the file's own clock."""
    starts, last, clock = [], -1.0, 0.0
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        for block in container.decode(stream):
            clock = float(block.pts * block.time_base)
            heard = block.to_ndarray().astype(float)
            loudness = np.abs(heard).max(axis=0) if heard.ndim > 1 else np.abs(heard)
            if not block.format.name.startswith("flt"):
                loudness = loudness / 32_768
            for place in np.flatnonzero(loudness > 0.08):
                now = clock + place / block.sample_rate
                if now - last > 0.3:
                    starts.append(now)
                last = now
    return starts


@dataclass(frozen=True)
class Seen:
    """One frame of a clip: from `start` on, in seconds, frame `number` of the film is on screen."""

    start: float
    number: int
    flashes: bool
    luma: np.ndarray


def seen_in(path: Path) -> list[Seen]:
    found = []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        for frame in container.decode(stream):
            luma = frame.to_ndarray(format="gray").astype(int)
            height, width = luma.shape
            bars = luma[_scaled(NUMBER, height)][8:-8]
            number = 0
            for bit in range(BITS + 2):
                left, right = bit * width // (BITS + 2), (bit + 1) * width // (BITS + 2)
                number = number << 1 | int(bars[:, left + 4 : right - 4].mean() > 128)
            flashes = luma[_scaled(FLASH, height)][8:-8].mean() > 150
            start = float(frame.pts * stream.time_base)
            found.append(Seen(start, number, bool(flashes), luma))
    return found


def at(seen: list[Seen], second: float) -> Seen:
    """The frame on screen at that time."""
    return [one for one in seen if one.start <= second + 1e-6][-1]
