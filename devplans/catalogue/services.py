"""What a club writes into the catalogue: its own skills and drills. `sync` writes the others."""

from dataclasses import asdict, dataclass
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill, Skill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club

SLUG_LENGTH = 60
MOST_CUES = 5


@dataclass(frozen=True)
class DrillPlan:
    """What a drill asks for. counts, sides: values of `Drill.Counts` and `Drill.Sides`."""

    counts: str
    sides: str = Drill.Sides.NONE
    default_sets: int = 3
    default_per_set: int = 10
    minutes: int = 8
    players_needed: int = 1
    needs: str = ""
    how: str = ""


def require_keeper(*, actor: Any, row: Skill | Drill) -> Club:
    """The club whose own row this is. Raises PermissionDenied, always for a shipped row."""
    if row.club is None:
        raise PermissionDenied("shipped with the portal")
    access.require(actor, Action.KEEP_CATALOGUE, row.club)
    return row.club


@transaction.atomic
def add_skill(
    *, actor: Any, club: Club, family: str, name: str, opportunity: str, cues: list[str]
) -> Skill:
    """Add a skill of the club's own. cues: short phrases, most important first, five at most.

    Raises PermissionDenied, and DomainError "skill.name" for a name that the club has in use.
    """
    access.require(actor, Action.KEEP_CATALOGUE, club)
    _refuse_same_name(Skill, club, name, except_row=None)
    skill = Skill.objects.create(
        club=club,
        slug=_free_slug(Skill, club, name),
        family=family,
        name=name,
        opportunity=opportunity,
        cues=cues[:MOST_CUES],
    )
    audit.record(actor, "catalogue.skill_added", skill, club_id=club.pk)
    return skill


@transaction.atomic
def change_skill(
    *, actor: Any, skill: Skill, family: str, name: str, opportunity: str, cues: list[str]
) -> Skill:
    """Correct a skill of the club's own; its slug stays. Raises as `add_skill` does."""
    club = require_keeper(actor=actor, row=skill)
    _refuse_same_name(Skill, club, name, except_row=skill)
    fields = {"family": family, "name": name, "opportunity": opportunity, "cues": cues[:MOST_CUES]}
    _write(skill, fields)
    audit.record(actor, "catalogue.skill_changed", skill, club_id=club.pk)
    return skill


@transaction.atomic
def retire_skill(*, actor: Any, skill: Skill) -> None:
    """Take a skill of the club's own out of use with its drills of the club. Comments keep it."""
    club = require_keeper(actor=actor, row=skill)
    now = timezone.now()
    for row in [skill, *Drill.objects.in_use().filter(club=club, skill=skill)]:
        if row.retired_at is None:
            _write(row, {"retired_at": now})
            audit.record(actor, f"catalogue.{row._meta.model_name}_retired", row, club_id=club.pk)


@transaction.atomic
def restore_skill(*, actor: Any, skill: Skill) -> None:
    """Bring a retired skill of the club's own back into use; its drills stay as they are."""
    club = require_keeper(actor=actor, row=skill)
    _refuse_same_name(Skill, club, skill.name, except_row=skill)
    _write(skill, {"retired_at": None})
    audit.record(actor, "catalogue.skill_restored", skill, club_id=club.pk)


@transaction.atomic
def add_drill(*, actor: Any, club: Club, skill: Skill, name: str, plan: DrillPlan) -> Drill:
    """Add a drill of the club's own for a skill that the club uses.

    Raises PermissionDenied, and DomainError "drill.name" or "drill.skill".
    """
    access.require(actor, Action.KEEP_CATALOGUE, club)
    _refuse_same_name(Drill, club, name, except_row=None)
    _refuse_foreign_skill(club, skill)
    slug = _free_slug(Drill, club, name)
    drill = Drill.objects.create(club=club, slug=slug, skill=skill, name=name, **asdict(plan))
    audit.record(actor, "catalogue.drill_added", drill, club_id=club.pk)
    return drill


@transaction.atomic
def change_drill(*, actor: Any, drill: Drill, skill: Skill, name: str, plan: DrillPlan) -> Drill:
    """Correct a drill of the club's own; its slug stays. Arguments and errors as in `add_drill`."""
    club = require_keeper(actor=actor, row=drill)
    _refuse_same_name(Drill, club, name, except_row=drill)
    if skill != drill.skill:
        _refuse_foreign_skill(club, skill)
    _write(drill, {"skill": skill, "name": name, **asdict(plan)})
    audit.record(actor, "catalogue.drill_changed", drill, club_id=club.pk)
    return drill


@transaction.atomic
def retire_drill(*, actor: Any, drill: Drill) -> None:
    """Take a drill of the club's own out of use. What was logged with it stays."""
    club = require_keeper(actor=actor, row=drill)
    if drill.retired_at is None:
        _write(drill, {"retired_at": timezone.now()})
        audit.record(actor, "catalogue.drill_retired", drill, club_id=club.pk)


@transaction.atomic
def restore_drill(*, actor: Any, drill: Drill) -> None:
    """Bring a retired drill back. Raises DomainError "drill.skill" while its skill is retired."""
    club = require_keeper(actor=actor, row=drill)
    _refuse_same_name(Drill, club, drill.name, except_row=drill)
    _refuse_foreign_skill(club, drill.skill)
    _write(drill, {"retired_at": None})
    audit.record(actor, "catalogue.drill_restored", drill, club_id=club.pk)


def _write(row: Skill | Drill, fields: dict[str, Any]) -> None:
    for name, value in fields.items():
        setattr(row, name, value)
    row.save(update_fields=[*fields, "updated_at"])


def _free_slug(model: type[Skill] | type[Drill], club: Club, name: str) -> str:
    """A slug that neither the club nor the shipped catalogue has: in the API it is a key."""
    base = slugify(name)[: SLUG_LENGTH - 4].strip("-") or str(model._meta.model_name)
    taken = set(model.objects.for_club(club).values_list("slug", flat=True))
    candidates = [base, *(f"{base}-{number}" for number in range(2, len(taken) + 3))]
    return next(slug for slug in candidates if slug not in taken)


def _refuse_same_name(
    model: type[Skill] | type[Drill], club: Club, name: str, *, except_row: Any
) -> None:
    rows = model.objects.for_club(club).in_use().filter(name__iexact=name)
    if rows.exclude(pk=getattr(except_row, "pk", None)).exists():
        message = _("There is already one with this name. Choose another, or use that one.")
        raise DomainError(f"{model._meta.model_name}.name", message, field="name")


def _refuse_foreign_skill(club: Club, skill: Skill) -> None:
    if not Skill.objects.for_club(club).in_use().filter(pk=skill.pk).exists():
        message = _("Choose a skill that your club has in use.")
        raise DomainError("drill.skill", message, field="skill")
