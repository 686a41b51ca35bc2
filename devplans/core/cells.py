"""Cells of files that a spreadsheet may open. Pure.

A spreadsheet runs a cell that begins with a sign such as "=" as a formula. Such a cell gets an
apostrophe in front, and so does one that begins with an apostrophe; `meant` takes it off again.
"""

SIGNS = "=+-@＝＋－＠"
GUARD = "'"


def _is_formula(cell: str) -> bool:
    return cell[:1] in {"\t", "\r", "\n"} or cell.lstrip()[:1] in set(SIGNS)


def harmless(cell: str) -> str:
    """`cell` so that no spreadsheet runs it."""
    cell = cell.replace("\0", "\ufffd")
    return GUARD + cell if cell.startswith(GUARD) or _is_formula(cell) else cell


def meant(cell: str) -> str:
    """What `harmless` was given."""
    rest = cell[1:]
    guarded = cell.startswith(GUARD) and (rest.startswith(GUARD) or _is_formula(rest))
    return rest if guarded else cell
