"""Colours of HDR cameras for ordinary screens, as a table in the .cube format.

HLG was made to be shown on an ordinary screen as it is (ITU-R BT.2390, section 7), so only its
wide primaries are brought in; PQ's absolute light is set against 203 cd/m2 of white (BT.2408)
and its highlights are rolled off.
"""

from itertools import product
from math import exp

HLG, PQ = 18, 16
POINTS = 17
_WHITE_NITS = 203
_PQ_PEAK_NITS = 10_000
_SCREEN_GAMMA = 2.4
_KNEE = 0.7
# BT.2020 to BT.709, linear light (ITU-R BT.2087 inverted).
_TO_709 = (
    (1.6605, -0.5876, -0.0728),
    (-0.1246, 1.1329, -0.0083),
    (-0.0182, -0.1006, 1.1187),
)


def cube(curve: int) -> str:
    """The table for `curve` (HLG or PQ): full-range RGB in BT.2020 to RGB in BT.709."""
    steps = [light(curve, step / (POINTS - 1)) for step in range(POINTS)]
    rows = (_row(red, green, blue) for blue, green, red in product(steps, repeat=3))
    return f"LUT_3D_SIZE {POINTS}\n" + "\n".join(rows) + "\n"


def light(curve: int, signal: float) -> float:
    """Light from an ordinary screen, 0..1, for a camera's signal, 0..1."""
    if curve == HLG:
        return float(signal**_SCREEN_GAMMA)
    root = signal ** (1 / 78.84375)
    nits = _PQ_PEAK_NITS * (max(0.0, root - 0.8359375) / (18.8515625 - 18.6875 * root)) ** (
        1 / 0.1593017578125
    )
    share = nits / _WHITE_NITS
    return share if share < _KNEE else 1 - (1 - _KNEE) * exp((_KNEE - share) / (1 - _KNEE))


def _row(*lights: float) -> str:
    mixed = (sum(part * one for part, one in zip(row, lights, strict=True)) for row in _TO_709)
    return " ".join(f"{min(1.0, max(0.0, one)) ** (1 / _SCREEN_GAMMA):.5f}" for one in mixed)
