"""The written examples that understanding is made of, in fixtures/talk. Pure but for the files."""

import csv
from pathlib import Path

from devplans.talkthrough.understand.parts import Cue
from devplans.talkthrough.understand.words import Word, words_of

FOLDER = Path(__file__).resolve().parents[3] / "fixtures" / "talk"


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one file, by the names in its first line."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def moments() -> list[dict[str, str]]:
    """Whole moments as coaches might say them: skills (the main one first), verdict, and a text in
    which `_` stands for a player and braces for what says what to do instead."""
    return [row for path in sorted(FOLDER.glob("moments-*.csv")) for row in rows(path.name)]


def read(text: str) -> list[Word]:
    """The words of a written example, as if they had been said."""
    return words_of([Cue(0, 60 * len(text), text)])
