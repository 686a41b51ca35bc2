"""A roster for understanding a talk, out of a CSV text: `number,name,heard_as`. Pure.

Numbers are text: "00" is not "0". A name may hold nicknames in quotes or brackets and may be
written "Last, First" (in CSV quotes); heard_as holds what captions make of it, parted by ";". The
first line may name the columns in another order; without such a line they stand in this one.
"""

import csv
import re
from collections.abc import Iterator, Mapping

from devplans.talkthrough.understand.parts import RosterPlayer

COLUMNS = ("number", "name", "heard_as")
MOST_PLAYERS = 200
MOST_LETTERS = 200_000
_NUMBER = re.compile(r"#?\s*(\d{1,3})")
_NICKNAME = re.compile(
    r"\"([^\"]*)\"|[“„”]([^“„”]*)[“”]|\(([^()]*)\)|\[([^\[\]]*)\]|«([^«»]*)»"
    r"|(?:(?<=\s)|^)['‘]([^'‘’]+)['’](?=\s|,|$)"
)
_SUFFIX = re.compile(r",?\s+(?:jr|sr|ii|iii|iv)\.?$", re.IGNORECASE)


class BadRoster(ValueError):
    """Why a text is no roster; line counts from 1, 0 is the whole file."""

    def __init__(self, line: int, why: str) -> None:
        super().__init__(f"line {line}: {why}" if line else why)
        self.line = line
        self.why = why


def read_roster(text: str) -> list[RosterPlayer]:
    """The players of the text. key is the number, or the name where there is none.

    Raises BadRoster at the first line that cannot be read, or that says a number or, without one,
    a name again.
    """
    if len(text) > MOST_LETTERS:
        raise BadRoster(0, f"This is longer than a roster of {MOST_PLAYERS} players.")
    players: dict[str, RosterPlayer] = {}
    lines: dict[str, int] = {}
    for line, row in _rows(text):
        player = _player(line, row)
        if player.key in players:
            what = "number" if player.number else "name"
            raise BadRoster(
                line, f"{player.key} is the {what} of line {lines[player.key]} already."
            )
        if len(players) == MOST_PLAYERS:
            raise BadRoster(line, f"There are more than {MOST_PLAYERS} players.")
        players[player.key] = player
        lines[player.key] = line
    if not players:
        raise BadRoster(0, "There is no player in it: write number,name,heard_as in each line.")
    return list(players.values())


def nicknames_in(name: str) -> tuple[str, ...]:
    """Those in quotes or brackets, parted by ";" or "/": Maeve "Mo" Okonjo, or Maeve (Mo)."""
    return tuple(
        nickname.strip()
        for match in _NICKNAME.finditer(name)
        for nickname in re.split("[;/]", next(part for part in match.groups() if part is not None))
        if nickname.strip()
    )


def without_nicknames(name: str) -> str:
    """The rest of it, with single spaces."""
    return " ".join(_NICKNAME.sub(" ", name).split())


def name_parts(name: str) -> tuple[str, str, tuple[str, ...]]:
    """First name, last name and nicknames; a name of one word is a first name."""
    nicknames = nicknames_in(name)
    plain = _SUFFIX.sub("", without_nicknames(name))
    if "," in plain:
        last, first = (part.strip() for part in plain.split(",", 1))
        return first.replace(",", " ").strip(), last, nicknames
    first, _, last = plain.partition(" ")
    return first, last, nicknames


def _rows(text: str) -> Iterator[tuple[int, Mapping[str, str]]]:
    """Rows with the line each ends on; empty ones are passed over."""
    lines = [line.replace("\0", "") for line in re.split(r"\r\n|\r|\n", text.removeprefix("﻿"))]
    delimiter = _delimiter(next((line for line in lines if line.strip()), ""))
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True)
    columns: tuple[str, ...] | None = None
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if columns is None:
                columns = _columns(reader.line_num, cells)
                if columns is not COLUMNS:
                    continue
            yield reader.line_num, _named(reader.line_num, columns, cells)
    except csv.Error as error:
        raise BadRoster(reader.line_num, f"This line is no CSV ({error}).") from error


def _delimiter(first: str) -> str:
    """A comma, unless the first line has only one of the others that spreadsheets write."""
    return next((sign for sign in "\t;" if sign in first and "," not in first), ",")


def _columns(line: int, cells: list[str]) -> tuple[str, ...]:
    """The names in the first line, or COLUMNS itself where it is a player already."""
    named = tuple(cell.strip().casefold().replace(" ", "_") for cell in cells)
    if "name" in named:
        return named
    if "number" in named or "first_name" in named:
        raise BadRoster(line, "There is no column “name”: the columns are number,name,heard_as.")
    return COLUMNS


def _named(line: int, columns: tuple[str, ...], cells: list[str]) -> Mapping[str, str]:
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        raise BadRoster(
            line, "There are more columns than names of columns: put a name with a comma in quotes."
        )
    return {name: cell.strip() for name, cell in zip(columns, cells, strict=False)}


def _player(line: int, row: Mapping[str, str]) -> RosterPlayer:
    number = row.get("number", "")
    match = _NUMBER.fullmatch(number)
    if number and match is None:
        raise BadRoster(line, f"“{number[:20]}” is no number: up to three digits, or nothing.")
    digits = match[1] if match else ""
    name = " ".join(row.get("name", "").split())
    first, last, nicknames = name_parts(name)
    if not (digits or first or last):
        raise BadRoster(line, "There is neither a number nor a name.")
    heard_as = tuple(part.strip() for part in row.get("heard_as", "").split(";") if part.strip())
    return RosterPlayer(digits or name, digits, first, last, nicknames, heard_as)
