"""Skills as the choices of a form field."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from devplans.catalogue.models import Skill


def by_family(skills: Iterable[Skill], empty: Any) -> list[tuple[Any, Any]]:
    """The choices of a select: `empty` for none, then the skills under their families' names.

    skills: in the order of the catalogue, which keeps a family together.
    """
    groups = groupby(skills, key=lambda skill: skill.family)
    named = [(name.capitalize(), [(one.pk, one.name) for one in rows]) for name, rows in groups]
    return [("", empty), *named]
