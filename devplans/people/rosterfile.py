"""Reading a roster file: text in, rows and named problems out. Knows no database."""

import csv
import io
from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _

COLUMNS = (
    "number",
    "first_name",
    "last_name",
    "born_on",
    "grade",
    "player_email",
    "guardian_name",
    "guardian_email",
)
NEEDED = ("first_name", "last_name")
MAX_ROWS = 200
MAX_BYTES = 200_000
LONGEST = {
    "number": 3,
    "first_name": 80,
    "last_name": 80,
    "grade": 20,
    "player_email": 254,
    "guardian_name": 160,
    "guardian_email": 254,
}
TEMPLATE = ",".join(COLUMNS) + "\r\n"


@dataclass(frozen=True)
class RosterRow:
    line: int
    number: str = ""
    first_name: str = ""
    last_name: str = ""
    born_on: date | None = None
    grade: str = ""
    player_email: str = ""
    guardian_name: str = ""
    guardian_email: str = ""


@dataclass
class RosterFile:
    """What a file holds. `faults`: what is wrong with the file as a whole (then no rows are read).
    `problems`: line number and reason of each row that cannot be used."""

    rows: list[RosterRow] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    text: str = ""


def decode(content: bytes) -> tuple[str, str]:
    """The text of a file, and what is wrong with it (empty: nothing)."""
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        return "", _("This is a spreadsheet file. Save the sheet as “CSV UTF-8” and send that.")
    if b"\x00" in content:
        return "", _("This is not a CSV file. Save the sheet as “CSV UTF-8” and send that.")
    if len(content) > MAX_BYTES:
        message = _(
            "The file is too large for a roster. A CSV file of up to %(count)s rows is expected."
        )
        return "", message % {"count": MAX_ROWS}
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        message = _(
            "Line %(line)s holds letters that are not in UTF-8. Save the sheet as “CSV UTF-8”."
        )
        return "", message % {"line": line}


def read_roster(content: bytes) -> RosterFile:
    """Read a roster file. Never raises: what is wrong is named in the result."""
    text, fault = decode(content)
    if fault:
        return RosterFile(faults=[fault])
    found = RosterFile(text=text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    try:
        header = [cell.strip().lower() for cell in next(reader, [])]
        found.faults = _header_faults(header)
        if not found.faults:
            _read_rows(reader, header, found)
    except csv.Error:
        message = _("Line %(line)s is not CSV: look for a quotation mark that is not closed.")
        found.faults.append(message % {"line": reader.line_num})
    if not found.faults and not found.rows and not found.problems:
        found.faults.append(_("The file has no players: below the first line come the rows."))
    if found.faults:
        found.rows, found.problems = [], []
    return found


def _delimiter(text: str) -> str:
    first = text.partition("\n")[0]
    return ";" if ";" in first and "," not in first else ","


def _header_faults(header: list[str]) -> list[str]:
    if not any(header):
        return [_("The file is empty.")]
    faults = []
    for name in header:
        if name not in COLUMNS:
            message = _("Unknown column “%(name)s”. The columns are: %(columns)s.")
            faults.append(message % {"name": name[:40], "columns": ", ".join(COLUMNS)})
    for name in sorted({name for name in header if header.count(name) > 1} & set(COLUMNS)):
        faults.append(_("The column “%(name)s” is there twice.") % {"name": name})
    missing = [name for name in NEEDED if name not in header]
    if missing:
        message = _("The first line has to name the columns; missing: %(names)s.")
        faults.append(message % {"names": ", ".join(missing)})
    return faults


def _read_rows(reader: "csv._reader", header: list[str], found: RosterFile) -> None:
    before = reader.line_num
    for cells in reader:
        line, before = before + 1, reader.line_num
        if not any(cell.strip() for cell in cells):
            continue
        if len(found.rows) + len(found.problems) >= MAX_ROWS:
            message = _("Too many rows: a roster has at most %(count)s.")
            found.faults.append(message % {"count": MAX_ROWS})
            return
        row, reasons = _read_row(line, cells, header)
        if reasons:
            found.problems.append((line, " ".join(reasons)))
        else:
            found.rows.append(row)


def _read_row(line: int, cells: list[str], header: list[str]) -> tuple[RosterRow, list[str]]:
    if len(cells) > len(header):
        message = _("There are %(cells)s cells for %(columns)s columns.")
        words = {"cells": len(cells), "columns": len(header)}
        return RosterRow(line), [message % words]
    texts = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
    reasons = []
    if not texts.get("first_name"):
        reasons.append(_("The first name is missing."))
    if not texts.get("last_name"):
        reasons.append(_("The last name is missing."))
    for name, most in LONGEST.items():
        if len(texts.get(name, "")) > most:
            message = _("“%(name)s” is longer than %(most)s characters.")
            reasons.append(message % {"name": name, "most": most})
    born_text = texts.pop("born_on", "")
    born_on = None
    if born_text:
        try:
            born_on = date.fromisoformat(born_text)
        except ValueError:
            message = _("“%(text)s” is not a date: write it as 2012-03-31.")
            reasons.append(message % {"text": born_text[:20]})
    return RosterRow(line=line, born_on=born_on, **texts), reasons
