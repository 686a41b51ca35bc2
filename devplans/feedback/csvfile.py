"""Comments and possessions as CSV, and comments back. Pure.

What a spreadsheet would run as a formula is written harmlessly (`core.cells`) and read back.
Every cell is quoted, so that a spreadsheet that parts cells at ";" finds no new cell either.
"""

import csv
import io
from collections.abc import Iterable, Sequence

from devplans.core.cells import harmless, meant
from devplans.feedback.noted import (
    MOST_BYTES,
    MOST_COMMENTS,
    VERDICTS,
    Noted,
    Problem,
    Reading,
    Who,
    short,
    who,
)
from devplans.feedback.times import parsed, told
from devplans.feedback.webvtt import Stretch

COLUMNS = (
    "id", "start", "end", "start_ms", "end_ms", "players", "skill", "verdict", "happened",
    "do_instead", "sent_at",
)  # fmt: skip
POSSESSION_COLUMNS = ("id", "side", "start", "end", "start_ms", "end_ms")
_SEPARATOR, _ESCAPE = ";", "\\"


def _table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return out.getvalue()


def _players(players: Iterable[Who]) -> str:
    """ "#12 Ines Okafor; #7 Runa Lindqvist"."""
    labels = (player.label.replace(_ESCAPE, _ESCAPE * 2) for player in players)
    return f"{_SEPARATOR} ".join(
        label.replace(_SEPARATOR, _ESCAPE + _SEPARATOR) for label in labels
    )


def _read_players(cell: str) -> tuple[Who, ...]:
    labels, label, signs = [], "", iter(cell)
    for sign in signs:
        if sign == _ESCAPE:
            label += next(signs, "")
        elif sign == _SEPARATOR:
            labels.append(label)
            label = ""
        else:
            label += sign
    labels.append(label)
    # A separator is followed by one space; more of them belong to the name.
    labels = [labels[0], *(one.removeprefix(" ") for one in labels[1:])]
    return tuple(who(one) for one in labels if one)


def written(comments: Iterable[Noted]) -> str:
    """Comments by time, with a line of column names."""
    ordered = sorted(comments, key=lambda comment: (comment.start_ms, comment.id))
    return _table(COLUMNS, (_row(one) for one in ordered))


def _row(one: Noted) -> list[str]:
    end = "" if one.end_ms is None else str(one.end_ms)
    return [
        one.id, told(one.start_ms), told(one.end_ms), str(one.start_ms), end,
        _players(one.players), one.skill, one.verdict, one.happened, one.do_instead, one.sent_at,
    ]  # fmt: skip


def possessions(stretches: Iterable[Stretch]) -> str:
    ordered = sorted(stretches, key=lambda stretch: stretch.start_ms)
    rows = (
        [
            one.id, one.side, told(one.start_ms), told(one.end_ms),
            str(one.start_ms), str(one.end_ms),
        ]
        for one in ordered
    )  # fmt: skip
    return _table(POSSESSION_COLUMNS, rows)


# --- reading ---------------------------------------------------------------


def read_bytes(content: bytes) -> Reading:
    """The comments of a file. Never raises: what cannot be used is named in the result."""
    if len(content) > MOST_BYTES:
        return Reading(problems=[Problem(0, "large")])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return Reading(
            problems=[Problem(0, "letters", str(content[: error.start].count(b"\n") + 1))]
        )
    return read(text)


def read(text: str) -> Reading:
    """The comments of a CSV text with a line of column names. Never raises."""
    rows = csv.DictReader(io.StringIO(text.removeprefix("﻿"), newline=""), strict=True)
    reading = Reading()
    try:
        if not {"start", "start_ms"} & set(rows.fieldnames or ()):
            return Reading(problems=[Problem(0, "columns")])
        for row in rows:
            if len(reading.comments) == MOST_COMMENTS:
                return Reading(problems=[Problem(0, "many")])
            cells = {name: meant(cell) for name, cell in row.items() if isinstance(cell, str)}
            _take(reading, cells, rows.line_num)
    except csv.Error:
        reading.problems.append(Problem(rows.line_num or 1, "row"))
    return reading


def _take(reading: Reading, cells: dict[str, str], line: int) -> None:
    try:
        start_ms, end_ms = _time(cells, "start"), _time(cells, "end")
    except ValueError as error:
        reading.problems.append(Problem(line, "stamp", short(str(error))))
        return
    if start_ms is None or (end_ms is not None and end_ms <= start_ms):
        found = cells.get("start", "")
        reading.problems.append(Problem(line, "stamp" if start_ms is None else "order", found))
        return
    verdict = cells.get("verdict", "")
    reading.comments.append(
        Noted(
            cells.get("id", ""), start_ms, end_ms, _read_players(cells.get("players", "")),
            cells.get("skill", ""), verdict if verdict in VERDICTS else "note",
            cells.get("happened", ""), cells.get("do_instead", ""), cells.get("sent_at", ""),
            line=line,
        )
    )  # fmt: skip


def _time(cells: dict[str, str], name: str) -> int | None:
    """The exact milliseconds, else the time as people write it."""
    exact = cells.get(f"{name}_ms", "").strip()
    if exact:
        if not exact.isdecimal() or len(exact) > 10:
            raise ValueError(exact)
        return int(exact)
    words = cells.get(name, "").strip()
    return parsed(words) if words else None
