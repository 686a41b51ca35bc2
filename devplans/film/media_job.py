"""One job on a film in a process of its own: `python -m devplans.film.media_job VERB name=value …`

VERB is `check`, `probe`, `copy`, `sound`, `join`, `sheets`, `still` or `clip`. Before the file is
touched the process gives itself limits on memory, processor time and file size, and a lower
priority. It writes JSON lines: `{"progress": 0.4}` twice a second, with `"patience_s"` before a
long silence, `{"segment": …}` and `{"part": …}` for what is finished of a copy (see
devplans.film.shelf), then one `{"result": …}` or
`{"error": {"reason": "…", "detail": "…", "film": true}}`; `film` says that the file is at fault.
Started by devplans.film.sandbox; imports stay inside the verbs, since a still waits for them.
"""

import errno
import json
import os
import resource
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import asdict
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
        resource.RLIMIT_FSIZE: int(options["file_mb"]) << 20,
        resource.RLIMIT_CORE: 0,
    }
    for kind, most in limits.items():
        # The Mac's kernel refuses this one limit; the others hold there too.
        if kind == resource.RLIMIT_AS and sys.platform == "darwin":
            continue
        resource.setrlimit(kind, (most, most))
    # Room between the two: at the second the kernel kills as it does for want of memory.
    cpu_s = int(options["cpu_s"])
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 10))
    # Where the machine has no memory left, this job is to go and not the worker.
    with suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text("500")
    os.nice(int(options["nice"]))


def check_film(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.probe import require_a_second

    require_a_second(options["source"])
    return {}


def probe_film(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.probe import probe

    return probe(options["source"]).as_dict()


def copy_film(options: dict[str, str]) -> dict[str, Any]:
    """The pieces of the playable copy that are not on the shelf yet, without sound."""
    from devplans.film.reading import MAX_THREADS
    from devplans.film.segments import copy_pictures
    from devplans.film.shelf import Part, Segment

    def tell(thing: Segment | Part) -> None:
        say(**{"segment" if isinstance(thing, Segment) else "part": asdict(thing)})

    copy_pictures(
        json.loads(options["sources"]),
        done=shelf_of(options),
        folder=Path(),
        tell=tell,
        on_progress=throttled_progress(),
        threads=int(options["threads"]) or MAX_THREADS,
        segment_s=float(options["segment_s"]),
    )
    return {}


def write_film_sound(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.segments import write_sound

    sources, parts = json.loads(options["sources"]), shelf_of(options).parts
    heard = write_sound(sources, parts, options["out"], on_progress=throttled_progress())
    return {"is_heard": heard}


def join_film(options: dict[str, str]) -> dict[str, Any]:
    """The playable copy and the poster."""
    from devplans.film.segments import join
    from devplans.film.stills import poster

    shelf = shelf_of(options)
    join(shelf, options["playable"], on_progress=throttled_progress(patience_s=_INDEX_S))
    last = shelf.parts[-1]
    picture = poster(options["playable"], (last.start_ms + last.length_ms) // _POSTER_SHARE)
    Path(options["poster"]).write_bytes(picture)
    return {}


def shelf_of(options: dict[str, str]) -> Any:
    from devplans.film.shelf import Shelf

    return Shelf.opened(Path(options["shelf"]), options["plan"], checked=False)


def draw_sheets(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.sprite import draw

    return draw(options["source"], Path(), on_progress=throttled_progress())


def take_still(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.stills import still

    picture = still(options["source"], int(options["ms"]), drawing=drawing_of(options))
    return {"size": Path(options["out"]).write_bytes(picture)}


def cut(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.encode import cut_clip

    start_ms, end_ms = int(options["start_ms"]), int(options["end_ms"])
    length = cut_clip(
        options["source"],
        options["out"],
        start_ms=start_ms,
        end_ms=end_ms,
        drawing=drawing_of(options),
        drawn_ms=int(options.get("drawn_ms", 0)),
    )
    return {"duration_ms": length}


def play_talk(options: dict[str, str]) -> dict[str, Any]:
    """A clip of the film as it was while somebody talked, by the course and the layers kept in
    files of the folder."""
    from devplans.film.playback import play_back

    length = play_back(
        options["source"],
        options["out"],
        sound=options["sound"],
        stretches=json.loads(Path("course.json").read_text()),
        layers=_layers(),
        length_ms=int(options["length_ms"]),
        on_progress=throttled_progress(),
    )
    return {"duration_ms": length}


def _layers() -> Iterator[Any]:
    with Path("layers.jsonl").open(encoding="utf-8") as lines:
        for line in lines:
            yield tuple(json.loads(line))


def cut_sound(options: dict[str, str]) -> dict[str, Any]:
    from devplans.film.voice_sound import cut_voice

    start_ms, end_ms = int(options["start_ms"]), int(options["end_ms"])
    length = cut_voice(options["source"], options["out"], start_ms=start_ms, end_ms=end_ms)
    return {"duration_ms": length}


def drawing_of(options: dict[str, str]) -> str:
    """The SVG in the file that `drawing` names; it can be longer than an argument may be."""
    return Path(options["drawing"]).read_text(encoding="utf-8") if "drawing" in options else ""


VERBS: dict[str, Callable[[dict[str, str]], dict[str, Any]]] = {
    "check": check_film,
    "probe": probe_film,
    "copy": copy_film,
    "sound": write_film_sound,
    "join": join_film,
    "sheets": draw_sheets,
    "still": take_still,
    "clip": cut,
    "talk": play_talk,
    "voice": cut_sound,
}


def throttled_progress(patience_s: float = 0) -> Callable[[float], None]:
    """patience_s: how long it may be silent after it has said that all is done."""
    said_at = 0.0

    def progress(share: float) -> None:
        nonlocal said_at
        now = time.monotonic()
        if share >= 1 and patience_s:
            say(progress=1.0, patience_s=patience_s)
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
