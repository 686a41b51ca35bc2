"""The sound of the drawn film: bounces, the net, the whistle, a quiet hall."""

from array import array
from functools import lru_cache
from math import exp, pi, sin
from random import Random

RATE = 24_000
SEED = 7


def _tone(length_s: float, pitch: float, fade_s: float, loud: float) -> list[float]:
    steps = range(int(length_s * RATE))
    return [loud * exp(-n / RATE / fade_s) * sin(2 * pi * pitch * n / RATE) for n in steps]


def _noise(length_s: float, fade_s: float, loud: float) -> list[float]:
    random = Random(SEED)  # noqa: S311 - a noise, nothing secret
    steps = range(int(length_s * RATE))
    return [loud * exp(-n / RATE / fade_s) * random.uniform(-1, 1) for n in steps]


@lru_cache(maxsize=8)
def _sound(name: str) -> list[float]:
    if name == "bounce":
        return _tone(0.12, 140, 0.03, 9_000)
    if name == "net":
        return _noise(0.3, 0.07, 7_000)
    return [one * (0.7 + 0.3 * sin(n / 90)) for n, one in enumerate(_tone(0.6, 2_350, 0.6, 6_000))]


def track(cues: list[tuple[float, str]], length_s: float) -> array:  # type: ignore[type-arg]
    """Signed 16-bit mono samples at `RATE`; cues are (film seconds, name)."""
    random = Random(SEED)  # noqa: S311 - a noise, nothing secret
    second = array("h", (int(random.gauss(0, 60)) for _ in range(RATE)))
    samples = second * int(length_s + 1)
    del samples[int(length_s * RATE) :]
    for at, name in cues:
        first = int(at * RATE)
        for offset, value in enumerate(_sound(name)[: len(samples) - first]):
            samples[first + offset] += int(value)
    return samples
