"""Rows that repeat what other rows say: kept equal, and written only where they are not."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import Model, QuerySet

OWN = {"id", "created_at"}
UNCOMPARED = {*OWN, "updated_at"}


def rewrite(held: QuerySet[Any], wanted: Iterable[Model], key: Sequence[str]) -> int:
    """Make the rows of `held` say what `wanted` says; returns how many differed.

    key: the names of the fields of a unique constraint, by which rows are told apart. What `held`
    leaves out is not looked at. The caller sees to it that nobody else writes these rows.
    """
    fields = held.model._meta.concrete_fields
    compared = [field.attname for field in fields if field.name not in UNCOMPARED]
    keys = [field.attname for field in fields if field.name in key]
    there = {tuple(getattr(row, name) for name in keys): row for row in held}
    different = []
    for row in wanted:
        found = there.pop(tuple(getattr(row, name) for name in keys), None)
        if found is None or any(getattr(found, one) != getattr(row, one) for one in compared):
            different.append(row)
    if different:
        held.model._default_manager.bulk_create(
            different,
            update_conflicts=True,
            unique_fields=list(key),
            update_fields=[f.name for f in fields if f.name not in OWN and f.name not in key],
        )
    if there:
        held.model._default_manager.filter(pk__in=[row.pk for row in there.values()]).delete()
    return len(different) + len(there)
