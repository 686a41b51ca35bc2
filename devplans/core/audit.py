from typing import Any

from django.db.models import Model

from devplans.core.models import AuditEntry


def record(
    actor: Any,
    verb: str,
    row: Model,
    *,
    club_id: Any = None,
    player_id: Any = None,
    **detail: Any,
) -> AuditEntry:
    """Write one audit line. verb: "feedback.comment_sent". detail: small JSON values, no free text
    of people."""
    return AuditEntry.objects.create(
        actor=actor if getattr(actor, "pk", None) else None,
        verb=verb,
        table=row._meta.label_lower,
        row_id=str(row.pk),
        club_id=club_id,
        player_id=player_id,
        detail=detail,
    )
