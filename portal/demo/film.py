"""The demo film, drawn by code: no recording of anybody, the same picture on every machine."""

from collections.abc import Container, Iterator
from fractions import Fraction
from pathlib import Path

import av
from PIL import Image

from portal.demo import sound
from portal.demo.hall import SIZE, draw_scene
from portal.demo.play import FPS, FRAMES, Play, clock_at, score_at
from portal.demo.script import AWAY, HOME, LENGTH_S, MOMENTS, PERIOD, Moment

__all__ = [
    "AWAY",
    "FPS",
    "FRAMES",
    "HOME",
    "LENGTH_S",
    "MOMENTS",
    "PERIOD",
    "SIZE",
    "Moment",
    "clock_at",
    "draw_frames",
    "render_demo_film",
    "score_at",
]

SOUND_BLOCK = 1_024


def draw_frames(
    only: Container[int] | None = None, *, home: str = "HERONS", away: str = "LARKS"
) -> Iterator[Image.Image]:
    """The film's frames as RGB pictures, in order; `only` those of these indexes.

    The names stand on the scoreboard.
    """
    for index, scene in enumerate(Play().scenes()):
        if only is None or index in only:
            yield draw_scene(scene, home=home, away=away)


def render_demo_film(path: Path | str, *, home: str = "HERONS", away: str = "LARKS") -> None:
    """Write the film to `path` as H.264 and AAC in MP4."""
    scenes = list(Play().scenes())
    cues = [(index / FPS, name) for index, scene in enumerate(scenes) for name in scene.sounds]
    with av.open(str(path), "w", format="mp4", options={"movflags": "+faststart"}) as container:
        picture = container.add_stream("libx264", rate=FPS)
        picture.width, picture.height = SIZE
        picture.pix_fmt = "yuv420p"
        # One thread, so that the file is the same byte for byte on every machine.
        picture.options = {"preset": "veryfast", "crf": "23", "threads": "1", "g": str(2 * FPS)}
        voice = container.add_stream("aac", rate=sound.RATE, layout="mono")
        for index, scene in enumerate(scenes):
            frame = av.VideoFrame.from_image(draw_scene(scene, home=home, away=away))
            frame.pts, frame.time_base = index, Fraction(1, FPS)
            container.mux(picture.encode(frame))
        container.mux(picture.encode(None))
        for block in _sound_blocks(cues):
            container.mux(voice.encode(block))
        container.mux(voice.encode(None))


def _sound_blocks(cues: list[tuple[float, str]]) -> Iterator[av.AudioFrame]:
    samples = sound.track(cues, LENGTH_S)
    for first in range(0, len(samples), SOUND_BLOCK):
        part = samples[first : first + SOUND_BLOCK]
        block = av.AudioFrame(format="s16", layout="mono", samples=len(part))
        block.planes[0].update(part.tobytes().ljust(block.planes[0].buffer_size, b"\0"))
        block.sample_rate, block.pts = sound.RATE, first
        block.time_base = Fraction(1, sound.RATE)
        yield block
