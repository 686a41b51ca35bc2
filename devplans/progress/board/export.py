"""The tables of the squad's pages as CSV. Undefined figures are empty cells."""

import csv
import io
from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from devplans.core.cells import harmless
from devplans.progress.board.practice import Needs, SkillNeed
from devplans.progress.board.table import Board


def board_rows(board: Board) -> str:
    """One line for each player and skill, in the order of the board; shares are 0..1."""
    heads = [
        _("family"), _("skill"), _("number"), _("player"), _("made"), _("tried"), _("low"),
        _("high"), _("drawn to the squad"), _("last on film"), _("counted"), _("beside it"),
    ]  # fmt: skip
    lines = []
    for row in board.rows:
        for column, cell in zip(board.columns, row.cells, strict=True):
            rate = cell.rate
            figures = (
                [rate.made, rate.tried, f"{rate.low:.4f}", f"{rate.high:.4f}"]
                if rate
                else ["", 0 if cell.was_counted else "", "", ""]
            )
            lines.append([
                row.skill.family, row.skill.name, column.line.number,
                column.line.player.full_name, *figures,
                "" if cell.about is None else f"{cell.about:.4f}",
                rate.latest_on.isoformat() if rate else "",
                rate.source if rate else "",
                "; ".join(f"{one.made}/{one.tried} {one.source}" for one in cell.others),
            ])  # fmt: skip
    return _written(heads, lines)


def need_rows(needs: Needs) -> str:
    """The skills of what to practise next, by need; shares are 0..1."""
    heads = [
        _("skill"), _("standing"), _("made"), _("tried"), _("films"), _("low"), _("high"),
        _("target"), _("chances a film"), _("surely lost a film"), _("counted by"),
        _("more chances"), _("more films"),
    ]  # fmt: skip
    return _written(heads, [_need_line(one) for one in needs.every])


def _need_line(one: SkillNeed) -> list[Any]:
    found = one.need
    known = found.low is not None and found.high is not None
    return [
        one.skill.name, one.heading, found.made if found.tried else "", found.tried, found.films,
        f"{found.low:.4f}" if known else "", f"{found.high:.4f}" if known else "",
        f"{found.target:.2f}", f"{found.a_film:.2f}" if known else "",
        f"{found.lost:.2f}" if known else "", one.coach, found.more_tried, found.more_films,
    ]  # fmt: skip


def _written(heads: list[str], lines: Iterable[Iterable[Any]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heads)
    for line in lines:
        writer.writerow([harmless(cell) if isinstance(cell, str) else cell for cell in line])
    return out.getvalue()
