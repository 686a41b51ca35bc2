"""Brings the shipped skills and drills from two CSV files into the tables."""

import csv
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from devplans.catalogue.models import Drill, Skill

SKILL_COLUMNS = ["slug", "family", "name", "opportunity", "cues"]
DRILL_COLUMNS = [
    "slug", "skill", "name", "counts", "sides", "default_sets", "default_per_set", "minutes",
    "players_needed", "needs", "how",
]  # fmt: skip
LONGEST = {"slug": 60, "family": 40, "name": 80, "opportunity": 200, "needs": 80, "how": 1_000}
NUMBERS = ["default_sets", "default_per_set", "minutes", "players_needed"]
LARGEST_NUMBER = 600
_SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


class CatalogueError(Exception):
    """The files cannot be used; `problems` says where and why, one line each."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


@dataclass
class Outcome:
    added: int = 0
    changed: int = 0
    retired: int = 0
    unchanged: int = 0


@dataclass
class _Reading:
    """One file being read: its good rows by slug, its problems with their lines."""

    path: Path
    rows: dict[str, dict[str, Any]] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)

    def refuse(self, line: int, why: str) -> None:
        self.problems.append(f"{self.path.name} line {line}: {why}")


def sync_catalogue(folder: Path) -> Outcome:
    """Add, change and retire the shipped rows so that they are what `folder` says; never delete.

    Rows that are already right are not written. Raises CatalogueError, with nothing written, for
    a file that is missing or has a bad row.
    """
    skills = _read(folder / "skills.csv", SKILL_COLUMNS, _skill)
    drills = _read(folder / "drills.csv", DRILL_COLUMNS, _drill(set(skills.rows)))
    if skills.problems or drills.problems:
        raise CatalogueError(skills.problems + drills.problems)
    outcome = Outcome()
    with transaction.atomic():
        _apply(Skill, skills.rows, outcome)
        keys = dict(Skill.objects.filter(club=None).values_list("slug", "pk"))
        for row in drills.rows.values():
            row["skill_id"] = keys[row.pop("skill")]
        _apply(Drill, drills.rows, outcome)
    return outcome


def _read(
    path: Path, columns: list[str], parse: Callable[[dict[str, str]], dict[str, Any]]
) -> _Reading:
    reading = _Reading(path)
    try:
        for line, row in _lines(path, columns):
            try:
                fields = parse(_checked(row, columns))
            except ValueError as error:
                reading.refuse(line, str(error))
                continue
            if fields["slug"] in reading.rows:
                reading.refuse(line, f"the slug {fields['slug']} is already taken above")
            reading.rows[fields["slug"]] = fields
    except FileNotFoundError:
        reading.problems.append(f"{path} is missing")
    except (UnicodeDecodeError, csv.Error, OSError) as error:
        reading.problems.append(f"{path.name} cannot be read as CSV in UTF-8: {error}")
    if not reading.rows and not reading.problems:
        # An empty file would retire everything.
        reading.problems.append(f"{path.name} holds no rows")
    return reading


def _lines(path: Path, columns: list[str]) -> Iterator[tuple[int, dict[str, str]]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        if reader.fieldnames != columns:
            raise csv.Error(f"its first line must be {','.join(columns)}")
        for row in reader:
            yield reader.line_num, row


def _checked(row: dict[str, Any], columns: list[str]) -> dict[str, str]:
    """The row with its texts trimmed. Raises ValueError where one is too long or empty."""
    if None in row or None in row.values():
        raise ValueError(f"it must have {len(columns)} values")
    texts = {name: value.strip() for name, value in row.items()}
    for name, text in texts.items():
        if not text:
            raise ValueError(f"{name} is empty")
        if len(text) > LONGEST.get(name, len(text)):
            raise ValueError(f"{name} is longer than {LONGEST[name]} characters")
    if not _SLUG.fullmatch(texts["slug"]):
        raise ValueError(
            f"{texts['slug']!r} is not a slug: small letters, digits and single hyphens"
        )
    return texts


def _skill(texts: dict[str, str]) -> dict[str, Any]:
    cues = [cue.strip() for cue in texts["cues"].split(";") if cue.strip()]
    if not cues:
        raise ValueError("cues is empty")
    return {**texts, "cues": cues}


def _drill(skills: set[str]) -> Callable[[dict[str, str]], dict[str, Any]]:
    def parse(texts: dict[str, str]) -> dict[str, Any]:
        if texts["skill"] not in skills:
            raise ValueError(f"there is no skill {texts['skill']!r}")
        _one_of(texts, "counts", Drill.Counts.values)
        _one_of(texts, "sides", Drill.Sides.values)
        return {**texts, **{name: _number(texts, name) for name in NUMBERS}}

    return parse


def _one_of(texts: dict[str, str], name: str, choices: list[str]) -> None:
    if texts[name] not in choices:
        raise ValueError(f"{name} must be one of {', '.join(choices)}, got {texts[name]!r}")


def _number(texts: dict[str, str], name: str) -> int:
    text = texts[name]
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= LARGEST_NUMBER):
        raise ValueError(f"{name} must be a whole number from 1 to {LARGEST_NUMBER}, got {text!r}")
    return int(text)


def _apply(
    model: type[Skill] | type[Drill], wanted: dict[str, dict[str, Any]], outcome: Outcome
) -> None:
    there = {row.slug: row for row in model.objects.filter(club=None)}
    for slug, fields in wanted.items():
        row = there.pop(slug, None)
        if row is None:
            model.objects.create(club=None, **fields)
            outcome.added += 1
            continue
        different = [name for name, value in fields.items() if getattr(row, name) != value]
        if row.retired_at is not None:
            fields = {**fields, "retired_at": None}
            different.append("retired_at")
        if not different:
            outcome.unchanged += 1
            continue
        for name in different:
            setattr(row, name, fields[name])
        row.save(update_fields=[*different, "updated_at"])
        outcome.changed += 1
    for row in there.values():
        if row.retired_at is None:
            row.retired_at = timezone.now()
            row.save(update_fields=["retired_at", "updated_at"])
            outcome.retired += 1
