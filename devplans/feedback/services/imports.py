from collections.abc import Collection, Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback import importing
from devplans.feedback.importing import Plan
from devplans.feedback.models import Comment
from devplans.feedback.noted import Reading
from devplans.feedback.services.drafts import add_comment
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action


def plan_import(
    *, actor: Any, film: Film, file: Reading, choices: Mapping[str, str] | None = None
) -> Plan:
    """What importing a file as drafts would do; writes nothing. Raises PermissionDenied."""
    access.require(actor, Action.COACH_SQUAD, film.squad)
    return importing.plan(film, actor, file, choices)


@transaction.atomic
def import_comments(
    *,
    actor: Any,
    film: Film,
    file: Reading,
    choices: Mapping[str, str] | None = None,
    left_out: Collection[str] = (),
) -> list[Comment]:
    """Keep the comments of a file as the actor's drafts; nothing is sent.

    Those that are on the film already, that lack a player or a skill, or whose fingerprint is in
    `left_out` are not taken. Returns the new drafts. Raises PermissionDenied, and DomainError
    "import.nothing" or "import.choice".
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    # Two presses of the button are one import: the second waits and finds the drafts there.
    Film.objects.select_for_update(of=("self",)).get(pk=film.pk)
    plan = importing.plan(film, actor, file, choices)
    if plan.wrong:
        raise DomainError("import.choice", " ".join(plan.wrong.values()))
    made = []
    for row in plan.complete:
        if row.fingerprint in left_out or row.skill is None:
            continue
        comment = add_comment(
            actor=actor,
            film=film,
            start_ms=row.noted.start_ms,
            end_ms=row.end_ms,
            players=row.players,
            skill=row.skill,
            verdict=row.noted.verdict,
            happened=row.noted.happened,
            do_instead=row.noted.do_instead,
            drawing=row.shapes,
        )
        comment.imported_as = row.fingerprint
        comment.save(update_fields=["imported_as"])
        made.append(comment)
    if not made:
        raise DomainError("import.nothing", _("There is nothing in it that can become a draft."))
    audit.record(
        actor, "feedback.imported", film, club_id=film.squad.season.club_id, count=len(made)
    )
    return made
