"""Speech of one file in a process of its own: `python -m devplans.talkthrough.speech_child hear …`

Takes on its limits, then opens the file. Writes JSON lines: `{"cues": [[start_ms, end_ms, text],
…], "heard_ms": …, "of_ms": … or null}` for each stretch, then one `{"result": {"length_ms": …}}` or
`{"error": …}`. Started by devplans.talkthrough.speech. Nothing here opens a connection.
"""

import ctypes
import re
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from devplans.film.faults import MediaError
from devplans.film.media_job import described_error, limit_self, say
from devplans.talkthrough.speech_faults import CRASHED, NO_MEMORY, NoSpeech

# An engine that loses its way says the same word again and again.
_MOST_REPEATS = 4
_NEW_NETWORK, _NEW_USER = 0x40000000, 0x10000000
_COMMAS = re.compile(r",{2,}")
Line = tuple[float, float, str]


def main(arguments: list[str]) -> int:
    options = dict(part.split("=", 1) for part in arguments[1:])
    limit_self(options)
    leave_network()
    try:
        say(result=hear(options))
    except NoSpeech as error:
        say(error=described_error(error.reason, error.detail, film=error.is_final))
    except MediaError as error:
        say(error=described_error(error.reason, error.detail, film=True))
    except MemoryError:
        say(error=described_error(NO_MEMORY, "out of memory", film=False))
    except (OSError, RuntimeError) as error:
        say(error=described_error(CRASHED, repr(error), film=False))
    return 0


def leave_network() -> None:
    """From here on nothing reaches another machine: a network of one's own with nothing in it,
    where the system allows that, and no connection out of Python in any case."""
    with suppress(OSError, AttributeError):
        libc = ctypes.CDLL(None, use_errno=True)
        if libc.unshare(_NEW_NETWORK):
            libc.unshare(_NEW_USER | _NEW_NETWORK)
    sys.addaudithook(_refuse_network)


def _refuse_network(event: str, arguments: tuple[Any, ...]) -> None:
    if event in ("socket.connect", "socket.getaddrinfo", "socket.bind"):
        raise PermissionError("speech stays on this machine")


def hear(options: dict[str, str]) -> dict[str, Any]:
    from devplans.talkthrough.speech_engine import load
    from devplans.talkthrough.speech_sound import Sound, louder

    from_ms = int(options["from_ms"])
    sound = Sound(options["source"], from_ms=from_ms)
    engine = load(Path(options["model"]))
    end_ms = from_ms
    for stretch in sound.stretches():
        lines = [] if stretch.is_silent else engine(louder(stretch.samples))
        end_ms = stretch.end_ms
        say(cues=cues_of(lines, stretch.start_ms, end_ms), heard_ms=end_ms, of_ms=sound.length_ms)
    return {"length_ms": end_ms}


def cues_of(lines: Sequence[Line], start_ms: int, end_ms: int) -> list[list[Any]]:
    """The lines of a stretch between two times, in order and without overlaps."""
    cues: list[list[Any]] = []
    for first_s, last_s, text in lines:
        words = without_loops(text)
        if not words:
            continue
        first = min(max(start_ms, start_ms + round(first_s * 1000)), end_ms)
        if cues:
            first = max(first, cues[-1][0])
            cues[-1][1] = min(cues[-1][1], first)
        cues.append([first, min(max(first, start_ms + round(last_s * 1000)), end_ms), words])
    return cues


def without_loops(text: str) -> str:
    """The words without runs of one and the same, nor of commas."""
    kept: list[str] = []
    for word in _COMMAS.sub(",", text.replace("\0", "")).split():
        if kept[-_MOST_REPEATS:] != [word] * _MOST_REPEATS:
            kept.append(word)
    return " ".join(kept)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
