"""The engine that hears words: one function, so that another one fits.

    load(model) -> hear;  hear(samples) -> [(start_s, end_s, text), …]

samples: 16 kHz, mono, floats from -1 to 1, at most a minute. Called only in a process of its own
(devplans.talkthrough.speech_child), which loads the model once. Opens no network.
"""

import importlib.util
from array import array
from collections.abc import Callable
from pathlib import Path

Line = tuple[float, float, str]
Hear = Callable[["array[float]"], list[Line]]

RATE = 16_000
_PACKAGE = "moonshine_voice"
_OWN_MODEL = Path("assets") / "tiny-en"
_EVERY_MODEL_HAS = "tokenizer.bin"


def model_in_wheel() -> Path | None:
    """The model that comes with the package; None where the package, or a model in it, is not."""
    spec = importlib.util.find_spec(_PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        return None
    folder = Path(spec.submodule_search_locations[0]) / _OWN_MODEL
    return folder if is_model(folder) else None


def is_model(folder: Path) -> bool:
    return (folder / _EVERY_MODEL_HAS).is_file()


def is_installed() -> bool:
    return importlib.util.find_spec(_PACKAGE) is not None


def load(model: Path) -> Hear:
    """The engine with the model of that folder, whose name says its size: tiny (else), base, small
    or medium, and whether it is a streaming one."""
    from moonshine_voice import ModelArch, Transcriber

    options = {"return_audio_data": "false", "identify_speakers": "false"}
    transcriber = Transcriber(str(model), ModelArch[kind_of(model)], options=options)

    def hear(samples: "array[float]") -> list[Line]:
        found = transcriber.transcribe_without_streaming(samples, RATE)
        return [
            (line.start_time, line.start_time + line.duration, line.text) for line in found.lines
        ]

    return hear


def kind_of(model: Path) -> str:
    name = model.name.casefold()
    size = next((size for size in ("medium", "small", "base") if size in name), "tiny")
    streams = "streaming" in name or size in ("medium", "small")
    return f"{size}_streaming".upper() if streams else size.upper()
