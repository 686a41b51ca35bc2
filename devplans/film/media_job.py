"""One job on a film in a process of its own: `python -m devplans.film.media_job VERB name=value …`

VERB is `check`, `probe`, `prepare`, `still` or `clip`. Before the file is touched the process gives
itself limits on memory, processor time and file size, and a lower priority. It writes JSON lines:
`{"progress": 0.4}` twice a second, with `"patience_s"` before a long silence, then one
`{"result": …}` or `{"error": {"reason": "…", "detail": "…", "film": true}}`; `film` says that the
file is at fault.
Started by devplans.film.sandbox; imports stay inside the verbs, since a still waits for them.
"""

import errno
import json
import os
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from devplans.film.faults import CRASHED, NO_ROOM, TOO_LARGE, MediaError, NotAFilm

_PROGRESS_EVERY_S = 0.5
_POSTER_SHARE = 10
# Moving the index to the front copies the whole file once more, in silence.
_INDEX_S = 900


def main(arguments: list[str]) -> int:
    verb, *rest = arguments
    options = dict(part.split("=", 1) for part in rest)
    limit_self(options)
    try:
        say(result=VERBS[verb](options))
    except MediaError as error:
        say(error=described_error(error.reason, error.detail, film=isinstance(error, NotAFilm)))
    except MemoryError:
        say(error=described_error(TOO_LARGE, "out of memory", film=True))
    except OSError as error:
        full = error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
        say(error=described_error(NO_ROOM if full else CRASHED, str(error), film=False))
    return 0


def limit_self(options: dict[str, str]) -> None:
    """Take on the limits named `memory_mb`, `cpu_s`, `file_mb` and the `nice` value."""
    limits = {
        resource.RLIMIT_AS: int(options["memory_mb"]) << 20,
        resource.RLIMIT_CPU: int(options["cpu_s"]),
        resource.RLIMIT_FSIZE: int(options["file_mb"]) << 20,
        resource.RLIMIT_CORE: 0,
    }
    for kind, most in limits.items():
        # The Mac's kernel refuses this one limit; the others hold there too.
        if kind == resource.RLIMIT_AS and sys.platform == "darwin":
            continue
        resource.setrlimit(kind, (most, most))
    os.nice(int(options["nice"]))


def check_film(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.probe import require_a_second

    require_a_second(options["source"])
    return {}


def probe_film(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.probe import probe

    return probe(options["source"]).as_dict()


def prepare_film(options: dict[str, str]) -> dict[str, Any]:
    """The playable copy and the poster."""
    from devplans.film.encode import make_copy
    from devplans.film.stills import poster

    facts = make_copy(options["source"], options["playable"], on_progress=throttled_progress())
    picture = poster(options["playable"], facts.duration_ms // _POSTER_SHARE)
    Path(options["poster"]).write_bytes(picture)
    return facts.as_dict()


def take_still(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.stills import still

    return {"size": Path(options["out"]).write_bytes(still(options["source"], int(options["ms"])))}


def cut(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.encode import cut_clip

    start_ms, end_ms = int(options["start_ms"]), int(options["end_ms"])
    length = cut_clip(options["source"], options["out"], start_ms=start_ms, end_ms=end_ms)
    return {"duration_ms": length}


VERBS: dict[str, Callable[[dict[str, str]], dict[str, Any]]] = {
    "check": check_film,
    "probe": probe_film,
    "prepare": prepare_film,
    "still": take_still,
    "clip": cut,
}


def throttled_progress() -> Callable[[float], None]:
    said_at = 0.0

    def progress(share: float) -> None:
        nonlocal said_at
        now = time.monotonic()
        if share >= 1:
            say(progress=1.0, patience_s=_INDEX_S)
        elif now - said_at >= _PROGRESS_EVERY_S:
            said_at = now
            say(progress=round(share, 4))

    return progress


def described_error(reason: str, detail: str, *, film: bool) -> dict[str, object]:
    return {"reason": reason, "detail": detail[:500], "film": film}


def say(**line: object) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
