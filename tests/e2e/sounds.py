"""Sound that says by itself where it was cut from: tones of which no second is like another."""

import io
import wave
from pathlib import Path
from random import Random

import av
import numpy as np

RATE = 16_000
TONE_S = 0.11
GAP_S = 0.02


def tones(length_s: float, *, seed: int = 3) -> np.ndarray:
    """Short tones of random heights, as floats at RATE."""
    chance = Random(seed)
    edge = np.minimum(1, np.arange(int(TONE_S * RATE)) / (0.01 * RATE))
    envelope = edge * edge[::-1]
    pieces = []
    for _number in range(int(length_s / (TONE_S + GAP_S)) + 1):
        height = 300 * 2 ** chance.uniform(0, 3)
        tone = 0.4 * np.sin(2 * np.pi * height * np.arange(len(envelope)) / RATE) * envelope
        pieces += [tone, np.zeros(int(GAP_S * RATE))]
    return np.concatenate(pieces)[: int(length_s * RATE)].astype(np.float32)


def write_wav(path: Path, samples: np.ndarray, *, rate: int = 48_000) -> Path:
    """A file as Chromium's microphone plays it, over and over."""
    times = np.arange(int(len(samples) * rate / RATE)) * RATE / rate
    whole = np.interp(times, np.arange(len(samples)), samples)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((whole * 32_767).astype("<i2").tobytes())
    return path


def decoded(content: bytes) -> np.ndarray:
    """What a browser recorded, as floats at RATE."""
    resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE)
    found = []
    with av.open(io.BytesIO(content)) as container:
        for frame in container.decode(audio=0):
            found += [one.to_ndarray()[0] for one in resampler.resample(frame)]
    return np.concatenate([*found, *(one.to_ndarray()[0] for one in resampler.resample(None))])


def place_of(piece: np.ndarray, whole: np.ndarray) -> tuple[float, float]:
    """Where in `whole` a piece is most alike, in seconds, and how alike it is (1: the same)."""
    size = len(whole) + len(piece)
    spectrum = np.fft.rfft(whole, size) * np.conj(np.fft.rfft(piece, size))
    alike = np.fft.irfft(spectrum, size)[: len(whole) - len(piece) + 1]
    energy = np.cumsum(np.concatenate([[0], whole.astype(float) ** 2]))
    local = np.sqrt(energy[len(piece) :] - energy[: -len(piece)])
    share = alike / (local * np.linalg.norm(piece) + 1e-9)
    best = int(np.argmax(share))
    return best / RATE, float(share[best])
