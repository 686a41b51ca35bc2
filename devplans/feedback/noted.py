"""A comment as an open file holds it: no keys of ours but its own. Pure."""

import re
from dataclasses import dataclass, field

VERDICTS = {"did_it": "did it", "not_yet": "not yet", "note": "note"}
BY_WORDS = {words: verdict for verdict, words in VERDICTS.items()}
MOST_BYTES = 1_000_000
MOST_COMMENTS = 1_000
_LABEL = re.compile(r"#(\S*)(?:\s(.*))?", re.DOTALL)


@dataclass(frozen=True)
class Who:
    """A player as a file names him: number, name, or both."""

    number: str = ""
    name: str = ""

    @property
    def label(self) -> str:
        """ "#12 Ines Okafor", "#12" or "Ines Okafor"."""
        if self.number:
            return f"#{self.number} {self.name}" if self.name else f"#{self.number}"
        return f"# {self.name}" if self.name.startswith("#") else self.name


def who(label: str) -> Who:
    """What `Who.label` wrote."""
    match = _LABEL.fullmatch(label)
    return Who(match[1], match[2] or "") if match else Who("", label)


@dataclass(frozen=True)
class Noted:
    """One comment of a file. end_ms None: a single moment. skill: a slug, or the words that stand
    for one; "" where the file names none. sent_at: ISO 8601, "" for a draft. line: where it begins
    in the file it was read from, from 1. drawing: SVG, for whoever looks at it; shapes: the same as
    drawings.reading writes it, for reading it again."""

    id: str
    start_ms: int
    end_ms: int | None
    players: tuple[Who, ...] = ()
    skill: str = ""
    verdict: str = "note"
    happened: str = ""
    do_instead: str = ""
    sent_at: str = ""
    drawing: str = ""
    shapes: str = ""
    line: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Problem:
    """What cannot be used: line from 1 (0: the file as a whole), and the reason's stable name.

    found: the words it is about, cut short.
    """

    line: int
    reason: str
    found: str = ""


@dataclass
class Reading:
    """What a file holds: the comments that can be used, and what cannot."""

    comments: list[Noted] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    @property
    def faults(self) -> list[Problem]:
        """What is wrong with the file as a whole."""
        return [problem for problem in self.problems if problem.line == 0]


def lines_ended(text: str) -> str:
    """The three ways of ending a line, as one."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def short(text: str, most: int = 60) -> str:
    """The beginning of `text`, on one line."""
    told = " ".join(text[: 4 * most].split())
    return told if len(told) <= most else told[: most - 1] + "…"
