"""A table of a page as a file: UTF-8 without a byte order mark, names of columns in words, days as
ISO dates, shares as 0..1, nothing that a spreadsheet would run. Undefined figures are empty."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from devplans.core.cells import harmless


@dataclass
class Table:
    columns: Sequence[str]
    rows: list[Sequence[Any]] = field(default_factory=list)

    def written(self) -> str:
        out = io.StringIO(newline="")
        writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        writer.writerow([harmless(str(name)) for name in self.columns])
        writer.writerows([_cell(value) for value in row] for row in self.rows)
        return out.getvalue()


def _cell(value: Any) -> str:
    """Only texts are guarded: a number below zero is no formula."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4f}"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    return harmless(str(value))
