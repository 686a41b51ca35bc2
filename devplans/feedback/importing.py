"""Reading a file of comments for a film: what of it is understood, and what has to be asked.

Nothing is written here. Players are looked for in the film's roster, skills in the catalogue; each
word that means none of them is asked for once, however many comments it stands in.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.feedback import (
    annotation,
    csvfile,
    drawing,
    picking,
    reading,
    roster,
    rules,
    webvtt,
)
from devplans.feedback.drawings.shapes import Shape
from devplans.feedback.models import Comment
from devplans.feedback.naming import folded
from devplans.feedback.noted import Noted, Problem, Reading, Who, lines_ended, short
from devplans.feedback.roster import Entry
from devplans.film.models import Film
from devplans.people.models import Player

# UTF-16 has null bytes too, but it is text, which only has to be saved in another way.
UTF_16 = (b"\xff\xfe", b"\xfe\xff")
NO_PLAYERS = "players-none"
SENTENCES: dict[str, Promise] = {
    "large": gettext_lazy("The file is larger than 1 MB: cut it into several."),
    "many": gettext_lazy("The file holds more than 1,000 comments: cut it into several."),
    "binary": gettext_lazy(
        "This is not a text file. A text file with comments is expected: WebVTT, "
        "Web Annotations (JSON-LD) or CSV."
    ),
    "letters": gettext_lazy("Line %(found)s holds letters that are not UTF-8. Save it as UTF-8."),
    "signature": gettext_lazy(
        "This is no file that can be read here. A WebVTT file begins with the line WEBVTT; "
        "Web Annotations (JSON-LD) and CSV with a column “start” are read too."
    ),
    "json": gettext_lazy("This is not JSON that can be read."),
    "annotations": gettext_lazy("There are no Web Annotations in this file."),
    "annotation": gettext_lazy("This is not a Web Annotation."),
    "no_time": gettext_lazy("It does not say which moment of the film it is about."),
    "columns": gettext_lazy("There is no column “start” or “start_ms”."),
    "row": gettext_lazy("From here on the rows cannot be read: look for a stray quotation mark."),
    "timing": gettext_lazy("A line with times, as in 00:12.500 --> 00:18.000, is missing here."),
    "stamp": gettext_lazy("This is no time of the film; write it like 00:12.500."),
    "comma": gettext_lazy("A comma stands where WebVTT wants a point: 00:12.500."),
    "hour": gettext_lazy("Hours need two digits: 01:02:03.000."),
    "sixty": gettext_lazy("Minutes and seconds go up to 59."),
    "order": gettext_lazy("The end has to be after the start."),
    "empty": gettext_lazy("There are no words in it."),
}


def read(content: bytes) -> Reading:
    """A file of comments in any of the formats that are exported. Never raises."""
    begun = content.removeprefix(b"\xef\xbb\xbf").lstrip()
    if b"\0" in begun and not begun.startswith((b"WEBVTT", *UTF_16)):
        return Reading(problems=[Problem(0, "binary")])
    if begun.startswith((b"{", b"[")):
        return annotation.read_bytes(content)
    if b"start" in begun.partition(b"\n")[0][:1_000] and not begun.startswith(b"WEBVTT"):
        return csvfile.read_bytes(content)
    return webvtt.read_bytes(content)


def sentence(problem: Problem) -> str:
    words = str(SENTENCES[problem.reason]) % {"found": problem.found}
    return f"{words} “{problem.found}”" if problem.line and problem.found else words


@dataclass
class Asked:
    """A word of the file that means nobody and nothing here; "" where a comment names none."""

    name: str
    label: str
    count: int = 0
    chosen: str = ""


@dataclass
class Planned:
    """One comment of the file as the draft that it would become. undrawn: why the file's drawing
    is no drawing here, "" where it is one or there is none."""

    noted: Noted
    fingerprint: str
    players: list[Player] = field(default_factory=list)
    skill: Skill | None = None
    end_ms: int | None = None
    is_here: bool = False
    problem: str = ""
    missing: list[str] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)
    undrawn: str = ""

    @property
    def is_complete(self) -> bool:
        return not self.is_here and not self.problem and bool(self.players and self.skill)

    @property
    def lacks(self) -> list[str]:
        """What has to be picked before it can be a draft."""
        found = [] if self.players else [_("a player")]
        return found if self.skill else [*found, _("a skill")]


@dataclass
class Plan:
    """What an import would do. `wrong`: choices that could not be understood, by field name."""

    rows: list[Planned] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    skills: list[Asked] = field(default_factory=list)
    players: list[Asked] = field(default_factory=list)
    wrong: dict[str, str] = field(default_factory=dict)

    @property
    def complete(self) -> list[Planned]:
        return [row for row in self.rows if row.is_complete]

    @property
    def here(self) -> list[Planned]:
        """Those that are on the film already."""
        return [row for row in self.rows if row.is_here]

    @property
    def lacking(self) -> list[Planned]:
        """Those that need a choice first."""
        return [row for row in self.rows if not row.is_here and not row.is_complete]


def fingerprint(one: Noted) -> str:
    """The same for the same comment of the same file, whichever format it came in by."""
    facts = [
        one.id, one.start_ms, one.end_ms, [player.label for player in one.players], one.skill,
        one.verdict, one.happened, one.do_instead,
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(facts).encode()).hexdigest()


class Planner:
    """Reads one file for one film and one coach."""

    def __init__(self, film: Film, user: Any, choices: Mapping[str, str]) -> None:
        self.film = film
        self.user = user
        self.choices = choices
        self.entries = roster.roster(film)
        self.skills = reading.skills_for(film.squad.season.club)
        self.by_word = {folded(one.name): one for one in self.skills}
        self.by_word |= {one.slug: one for one in self.skills}
        self.asked: dict[tuple[str, str], Asked] = {}
        self.plan = Plan()

    def made(self, found: Reading) -> Plan:
        self.plan.faults = [sentence(problem) for problem in found.faults]
        self.plan.problems = [(one.line, sentence(one)) for one in found.problems if one.line]
        here = Already(self.film, self.user)
        for one in found.comments:
            row = self.planned(one)
            if row.problem:
                self.plan.problems.append((one.line, row.problem))
                continue
            row.is_here = here.has(row, self.entries)
            if not row.is_here:
                row.skill = self.skill(one.skill)
                row.players = self.players(one.players, row.missing)
            self.plan.rows.append(row)
        self.plan.problems.sort()
        for (kind, _label), asked in self.asked.items():
            (self.plan.skills if kind == "skill" else self.plan.players).append(asked)
        return self.plan

    def planned(self, one: Noted) -> Planned:
        row = Planned(one, fingerprint(one), end_ms=one.end_ms)
        row.shapes, row.undrawn = _drawn(one)
        if row.end_ms is not None and self.film.duration_ms is not None:
            # Others' cues often run on a little past the end of the film.
            row.end_ms = min(row.end_ms, self.film.duration_ms)
            row.end_ms = row.end_ms if row.end_ms > one.start_ms else None
        try:
            rules.check_span(self.film, one.start_ms, row.end_ms)
            rules.check_words(one.happened, one.do_instead)
        except DomainError as error:
            row.problem = str(error)
        is_worded = one.happened.strip() or one.do_instead.strip() or one.verdict != "note"
        if not is_worded and not row.shapes:
            row.problem = row.problem or str(SENTENCES["empty"])
        return row

    def ask(self, kind: str, label: str) -> Asked:
        count = sum(known == kind for known, _label in self.asked)
        name = NO_PLAYERS if (kind, label) == ("player", "") else f"{kind}-{count}"
        found = self.asked.setdefault((kind, label), Asked(name, short(label)))
        found.count += 1
        found.chosen = self.choices.get(found.name, "")
        return found

    def skill(self, word: str) -> Skill | None:
        known = self.by_word.get(word) or self.by_word.get(folded(word))
        if known is not None:
            return known
        return self.by_word.get(self.ask("skill", word).chosen)

    def players(self, named: Sequence[Who], missing: list[str]) -> list[Player]:
        """Those that are meant; labels that mean nobody go to `missing`."""
        found: list[Player] = []
        for one in named:
            entry = matching(self.entries, one)
            if entry is None:
                chosen = self.ask("player", one.label).chosen
                entry = next((e for e in self.entries if str(e.player.pk) == chosen), None)
            if entry is None:
                missing.append(one.label)
            elif entry.player not in found:
                found.append(entry.player)
        return found if named else self.typed()

    def typed(self) -> list[Player]:
        """The players for comments that name none, as numbers or names in one box."""
        picked = picking.pick(self.entries, self.ask("player", "").chosen)
        unclear = [*picked.unknown, *picked.unsure]
        if unclear:
            words = _("Type the numbers; not clear: %(words)s.") % {"words": ", ".join(unclear)}
            self.plan.wrong[NO_PLAYERS] = words
        return [entry.player for entry in picked.entries]


class Already:
    """What is on a film for a coach, to tell whether a row of a file is there already."""

    def __init__(self, film: Film, user: Any) -> None:
        rows = Comment.objects.visible_to(user).of_film(film)
        rows = rows.select_related("skill").prefetch_related("players")
        self.keys: set[str] = set()
        self.contents: set[Any] = set()
        for one in rows.distinct():
            self.keys |= {str(one.pk), one.imported_as} - {""}
            players = frozenset(player.pk for player in one.players.all())
            words = (lines_ended(one.happened).strip(), lines_ended(one.do_instead).strip())
            self.contents.add(
                (one.start_ms, one.end_ms, one.skill.slug, one.verdict, players, words)
            )

    def has(self, row: Planned, entries: Sequence[Entry]) -> bool:
        """Also of a row that stood in the file before."""
        one = row.noted
        meant = [matching(entries, player) for player in one.players]
        players = frozenset(entry.player.pk for entry in meant if entry is not None)
        words = (one.happened.strip(), one.do_instead.strip())
        content = (one.start_ms, row.end_ms, one.skill, one.verdict, players, words)
        known = bool({one.id, row.fingerprint} & self.keys) or content in self.contents
        self.keys.add(row.fingerprint)
        return known


def _drawn(one: Noted) -> tuple[list[Shape], str]:
    """The drawing of a file's comment, or why it is left out. Its SVG is never taken."""
    if not one.shapes:
        return [], _("Only drawings of a file from here can be read.") if one.drawing else ""
    try:
        return drawing.read(one.shapes), ""
    except DomainError as error:
        return [], str(error)


def matching(entries: Sequence[Entry], one: Who) -> Entry | None:
    """The one entry that a file's words mean. A number that somebody else wears today is nobody's:
    it is asked for."""
    found = list(entries)
    if one.name:
        found = [e for e in found if folded(e.player.full_name) == folded(one.name)]
        if not found and not one.number:
            found = picking.matching(entries, one.name)
    if one.number and (not one.name or len(found) > 1):
        found = [entry for entry in found if one.number in entry.numbers[:1]]
    return found[0] if len(found) == 1 else None


def plan(film: Film, user: Any, found: Reading, choices: Mapping[str, str] | None = None) -> Plan:
    """What importing `found` as drafts of `user` would do. choices: what the coach picked, by the
    names of `Asked`: a skill's slug, a player's key, numbers and names for those without players.
    """
    comments = [
        replace(one, happened=lines_ended(one.happened), do_instead=lines_ended(one.do_instead))
        for one in found.comments
    ]
    return Planner(film, user, choices or {}).made(Reading(comments, found.problems))
