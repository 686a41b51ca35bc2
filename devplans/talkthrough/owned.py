"""A talk belongs to the coach who said it; and how it comes to wait for its words."""

from typing import Any

from django.core.exceptions import PermissionDenied

from devplans.people import access
from devplans.people.access import Action
from devplans.talkthrough.models import TalkThrough


def require_own(*, actor: Any, talk: TalkThrough) -> None:
    """Raise PermissionDenied unless `actor` coaches the squad and it is his talk."""
    access.require(actor, Action.COACH_SQUAD, talk.film.squad)
    if talk.coach_id != actor.pk:
        raise PermissionDenied("somebody else said this")


def own(actor: Any, talk: TalkThrough, *, locked: bool = True) -> TalkThrough:
    """The talk as it is now, locked unless asked otherwise, if the actor coaches its squad and
    said it."""
    require_own(actor=actor, talk=talk)
    rows = TalkThrough.objects.with_film()
    if locked:
        rows = rows.select_for_update(of=("self",))
    return rows.get(pk=talk.pk)


def wait_for_words(talk: TalkThrough) -> None:
    """Put a recorded talk among those that wait to be written down; within a transaction."""
    from devplans.talkthrough import tasks

    talk.state = TalkThrough.State.WAITING
    talk.save(update_fields=["state", "updated_at"])
    tasks.write_down.delay_on_commit(str(talk.pk))
