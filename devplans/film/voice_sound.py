"""A stretch of a recorded voice as a small file of its own: AAC, one channel, 48 kHz.

`cut_voice(source, out, start_ms=, end_ms=)`. The recording may be a browser's own stream, without a
length and without an index: it is read from its beginning, and what comes earlier is not decoded.
"""

from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import av.error
import av.filter

from devplans.film.facts import SNIFF_BYTES, sniff
from devplans.film.faults import EMPTY, NO_VOICE, NOT_SOUND, NotAFilm
from devplans.film.reading import sound_stream
from devplans.film.sound import LAYOUT, RATE, Sound

FORMATS = "mov,matroska,webm,wav,ogg"
BIT_RATE = 64_000
SHORTEST_MS = 300
# A voice that begins or ends in the middle of its wave clicks.
FADE_IN_S, FADE_OUT_S = 0.02, 0.06
# Softer words come up by 12 dB at most, over windows of 4.5 s, so that no breath is pumped up.
EVENED = "framelen=300:gausssize=15:maxgain=4:peak=0.9"
_EARLY_S = 1


def cut_voice(source: Path | str, out: Path | str, *, start_ms: int, end_ms: int) -> int:
    """Write [start, end) of the sound, as far as there is any; returns its length in ms.

    Times count from the first sample. Raises NotAFilm for what is no sound, and where less than
    0.3 s of it lies in that stretch.
    """
    length = Fraction(end_ms - start_ms, 1000)
    sound = _Recording(source, Fraction(start_ms, 1000))
    try:
        blocks = list(sound.until(length)) if sound.is_heard else []
    finally:
        sound.close()
    samples: int = sum(block.samples for block in blocks)
    if samples * 1000 < SHORTEST_MS * RATE:
        raise NotAFilm(NO_VOICE)
    _write(out, blocks, samples / RATE)
    return round(samples * 1000 / RATE)


class _Recording(Sound):
    """The sound of a recording from `start_s` after its first sample on."""

    def __init__(self, path: Path | str, start_s: Fraction) -> None:
        super().__init__(path, _first_sample(path) + start_s)

    def _opened(self, path: Path | str) -> Any:
        return open_sound(path)

    def _frames(self, *, seek: bool) -> Iterator[Any]:
        early = self._base - _EARLY_S
        with suppress(av.error.FFmpegError):
            for packet in self._container.demux(self._stream):
                if packet.pts is not None and packet.pts * packet.time_base < early:
                    continue
                yield from decoded(packet)


def decoded(packet: Any) -> list[Any]:
    """The frames of a packet; none of a damaged one."""
    try:
        return list(packet.decode())
    except av.error.FFmpegError:
        return []


def _first_sample(path: Path | str) -> Fraction:
    """When the first sample comes on the file's own clock, in seconds."""
    with open_sound(path) as container, suppress(av.error.FFmpegError):
        stream = sound_stream(container)
        packets = container.demux(stream) if stream is not None else ()
        for packet in packets:
            for frame in decoded(packet):
                if frame.pts is not None:
                    return Fraction(frame.pts * frame.time_base)
    raise NotAFilm(NOT_SOUND)


def open_sound(path: Path | str) -> Any:
    """The file as a container of the kinds that recorders write; raises NotAFilm."""
    with open(path, "rb") as file:
        start = file.read(SNIFF_BYTES)
    if not start:
        raise NotAFilm(EMPTY)
    if sniff(start) is None and not _is_wave(start) and not start.startswith(b"OggS"):
        raise NotAFilm(NOT_SOUND)
    options = {"format_whitelist": FORMATS, "protocol_whitelist": "file"}
    try:
        return av.open(f"file:{path}", options=options, metadata_errors="ignore")
    except (av.error.FFmpegError, ValueError) as error:
        raise NotAFilm(NOT_SOUND, str(error)) from error


def _is_wave(start: bytes) -> bool:
    return start.startswith(b"RIFF") and start[8:12] == b"WAVE"


def _write(out: Path | str, blocks: list[Any], length_s: float) -> None:
    graph, source, sink = _evening(length_s)
    with av.open(str(out), "w", format="mp4", options={"movflags": "+faststart"}) as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono", bit_rate=BIT_RATE)
        for block in [*blocks, None]:
            source.push(block)
            for even in _pulled(sink):
                container.mux(stream.encode(even))
        container.mux(stream.encode(None))
    del graph


def _evening(length_s: float) -> tuple[Any, Any, Any]:
    graph = av.filter.Graph()
    source = graph.add_abuffer(
        sample_rate=RATE, format="s16", layout=LAYOUT, time_base=Fraction(1, RATE)
    )
    steps = [
        source,
        graph.add("aformat", f"sample_fmts=fltp:channel_layouts=mono:sample_rates={RATE}"),
        graph.add("dynaudnorm", EVENED),
        graph.add("afade", f"t=in:st=0:d={FADE_IN_S}"),
        graph.add("afade", f"t=out:st={max(0, length_s - FADE_OUT_S):.3f}:d={FADE_OUT_S}"),
        graph.add("abuffersink"),
    ]
    for one, following in pairwise(steps):
        one.link_to(following)
    graph.configure()
    return graph, source, steps[-1]


def _pulled(sink: Any) -> Iterator[Any]:
    while True:
        try:
            yield sink.pull()
        except (av.error.BlockingIOError, av.error.EOFError):
            return
