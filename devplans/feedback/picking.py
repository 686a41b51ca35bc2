"""Players typed by number or name: "12 7", "ines, runa". Pure but for the roster's rows."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from devplans.feedback.naming import folded
from devplans.feedback.roster import Entry


@dataclass
class Picked:
    """What typed words mean: players, words that mean nobody, words that mean several."""

    entries: list[Entry] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    unsure: dict[str, list[Entry]] = field(default_factory=dict)


def matching(entries: Sequence[Entry], typed: str) -> list[Entry]:
    """The entries that `typed` may mean: the one with that number, else names that begin so."""
    typed = typed.strip().lstrip("#")
    by_number = [entry for entry in entries if typed in entry.numbers[:1]]
    if by_number or typed.isdecimal():
        return by_number
    start = folded(typed)
    exact = [
        entry
        for entry in entries
        if start in {folded(entry.player.full_name), folded(f"{entry.number} {entry.player}")}
    ]
    return exact or [
        entry
        for entry in entries
        if folded(entry.player.full_name).startswith(start)
        or any(part.startswith(start) for part in folded(entry.player.full_name).split())
    ]


def pick(entries: Sequence[Entry], text: str) -> Picked:
    """Reads several players out of one box; commas part names, spaces part numbers and names."""
    picked = Picked()
    for piece in filter(None, (part.strip() for part in re.split(r"[,;\n]", text))):
        whole = matching(entries, piece)
        words = [piece] if len(whole) == 1 else piece.split()
        for word in words:
            _take(picked, entries, word)
    return picked


def _take(picked: Picked, entries: Sequence[Entry], word: str) -> None:
    found = matching(entries, word)
    if not found:
        picked.unknown.append(word)
    elif len(found) > 1:
        picked.unsure[word] = found
    elif found[0] not in picked.entries:
        picked.entries.append(found[0])
