"""`make bench`: what is quick enough, as ratios against a floor; written to build/bench.json.

usage: python -m tests.bench [name …]

Each benchmark is a function that returns seconds (ours, floor); the best of several runs counts.
"""

import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from statistics import mean

OUT = Path(__file__).resolve().parents[1] / "build" / "bench.json"
SEARCHES = 12
RUNS = 5


def best_of(run: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of the quickest run."""
    times = []
    for _run in range(runs):
        begun = time.perf_counter()
        run()
        times.append(time.perf_counter() - begun)
    return min(times)


def still() -> tuple[float, float]:
    """One still of a 1080p film, anywhere in it, against the `ffmpeg` program on the same file."""
    from devplans.film import sandbox
    from tests.film import films

    with tempfile.TemporaryDirectory() as place:
        kind = films.Kind(
            "game", films.steady(900), Fraction(1, 30), size=(1920, 1080),
            options={"bf": "3", "g": "60", "preset": "veryfast"},
        )  # fmt: skip
        film = films.write(Path(place), kind)
        moments = [1_000 + 28_000 * number // SEARCHES for number in range(SEARCHES)]
        picture = Path(place) / "still.jpg"

        def floor(ms: int) -> None:
            subprocess.run(
                ["ffmpeg", "-v", "error", "-y", "-ss", str(ms / 1000), "-i", str(film),
                 "-frames:v", "1", "-q:v", "2", str(picture)],
                check=True,
            )  # fmt: skip

        sandbox.still(film, 0)
        ours = mean(best_of(lambda ms=ms: sandbox.still(film, ms)) for ms in moments)
        floors = mean(best_of(lambda ms=ms: floor(ms)) for ms in moments)
    return ours, floors


def talkthrough_growth() -> tuple[float, float]:
    """Understanding sixty minutes of talk against fifteen, both with thirty players."""
    from devplans.talkthrough.understand import understand
    from tests.talkthrough.long_talk import ROSTER, talk

    long, short = talk(60), talk(15)
    understand(short, ROSTER)
    floor = best_of(lambda: understand(short, ROSTER))
    return best_of(lambda: understand(long, ROSTER)), floor


NEEDS = {"still": "ffmpeg"}
BENCHMARKS: dict[str, Callable[[], tuple[float, float]]] = {
    "still": still,
    "talkthrough_growth": talkthrough_growth,
}


def main(names: list[str]) -> int:
    found = json.loads(OUT.read_text()) if OUT.exists() else {}
    for name in names or BENCHMARKS:
        if (program := NEEDS.get(name)) and not shutil.which(program):
            print(f"{name}: left out, there is no {program}")
            continue
        ours, floor = BENCHMARKS[name]()
        found[name] = {"ratio": round(ours / floor, 3), "ours_s": ours, "floor_s": floor}
        print(
            f"{name}: {ours * 1000:.1f} ms, floor {floor * 1000:.1f} ms, ratio {ours / floor:.2f}"
        )
    OUT.parent.mkdir(exist_ok=True)
    OUT.write_text(json.dumps(found, indent=2) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
