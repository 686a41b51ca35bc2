"""What a workout says, as plain values, and the rules that those must keep. Knows no database."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.stats.court_lines import CourtLines

AHEAD = timedelta(hours=24)
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
MOST_SETS = 200
MOST_SHOTS = 2_000
MOST_COUNTED = 10_000
MOST_SECONDS = 86_400
MOST_MINUTES = 1_440
LONGEST_TEXT = 2_000

Problems = dict[str, Any]


@dataclass(frozen=True)
class SetContent:
    id: UUID
    drill: str
    side: str = "none"
    made: int | None = None
    tried: int | None = None
    reps: int | None = None
    seconds: int | None = None


@dataclass(frozen=True)
class ShotContent:
    """Millimetres from the point under the ring, x to the right of a player facing it."""

    id: UUID
    x_mm: int
    y_mm: int
    made: bool
    set: UUID | None = None


@dataclass(frozen=True)
class Content:
    """All that a phone says of one workout, defaults filled in; the same when equal."""

    player: UUID
    started_at: datetime
    minutes: int | None = None
    effort: int | None = None
    kind: str = "own"
    pain: str = ""
    note: str = ""
    sets: tuple[SetContent, ...] = ()
    shots: tuple[ShotContent, ...] = ()


@dataclass(frozen=True)
class Surroundings:
    """What a content is held against: the court's lines, the club's drills by slug, the hour, and
    the ids of sets and shots that other workouts hold."""

    lines: CourtLines
    drills: Mapping[str, Any]
    now: datetime
    taken_sets: frozenset[UUID] = frozenset()
    taken_shots: frozenset[UUID] = frozenset()


def problems(content: Content, around: Surroundings) -> Problems:
    """What is wrong, per field; sets and shots as one mapping for each. Empty if nothing is."""
    found: Problems = {}
    if content.started_at > around.now + AHEAD:
        found["started_at"] = [_("This is more than a day ahead. Check the date and the time.")]
    elif content.started_at < EARLIEST:
        found["started_at"] = [_("This is too long ago. Check the date.")]
    sets = _set_problems(content, around)
    if any(sets):
        found["sets"] = sets
    shots = _shot_problems(content, around)
    if any(shots):
        found["shots"] = shots
    return found


def is_on_court(x_mm: int, y_mm: int, lines: CourtLines) -> bool:
    """Inside the lines of the whole court or on them."""
    within = lines.width // 2
    return -within <= x_mm <= within and -lines.baseline <= y_mm <= lines.length - lines.baseline


def _repeated(ids: Iterable[UUID]) -> set[UUID]:
    return {key for key, times in Counter(ids).items() if times > 1}


def _id_problem(key: UUID, taken: frozenset[UUID], repeated: set[UUID]) -> Problems:
    if key in repeated:
        return {"id": [_("This id is used twice.")]}
    if key in taken:
        return {"id": [_("Another workout holds this id.")]}
    return {}


def _set_problems(content: Content, around: Surroundings) -> list[Problems]:
    repeated = _repeated(one.id for one in content.sets)
    shots: dict[UUID, list[bool]] = {}
    for shot in content.shots:
        if shot.set:
            shots.setdefault(shot.set, []).append(shot.made)
    found = []
    for one in content.sets:
        wrong = _id_problem(one.id, around.taken_sets, repeated)
        if one.drill not in around.drills:
            wrong["drill"] = [_("The club has no drill of this name.")]
        found.append(wrong | _count_problems(one, shots.get(one.id)))
    return found


def _count_problems(one: SetContent, shots: list[bool] | None) -> Problems:
    if one.made is None and one.tried is None:
        return {}
    if one.made is None or one.tried is None:
        field = "made" if one.made is None else "tried"
        return {field: [_("Made and tried come together: give both or neither.")]}
    if one.made > one.tried:
        return {"made": [_("More made than tried.")]}
    if shots is not None and (one.made, one.tried) != (sum(shots), len(shots)):
        return {
            "made": [
                _("Made and tried differ from this set's shots: leave them out or correct them.")
            ]
        }
    return {}


def _shot_problems(content: Content, around: Surroundings) -> list[Problems]:
    repeated = _repeated(shot.id for shot in content.shots)
    sets = {one.id for one in content.sets}
    found = []
    for shot in content.shots:
        wrong = _id_problem(shot.id, around.taken_shots, repeated)
        if shot.set is not None and shot.set not in sets:
            wrong["set"] = [_("This workout has no such set.")]
        if not is_on_court(shot.x_mm, shot.y_mm, around.lines):
            outside = _("This place is outside the lines of the court.")
            wrong["y_mm" if abs(shot.x_mm) <= around.lines.width // 2 else "x_mm"] = [outside]
        found.append(wrong)
    return found
