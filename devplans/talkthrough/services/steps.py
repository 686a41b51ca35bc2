"""What a coach does to suggestions is kept as steps, so that each can be undone, the last first.

A step's `before`:
    suggestions  those that it changed, as they were
    made         ids of those that it made
    comments     [id, when it was written] of the drafts that it made
    aliases      [heard, player's id or null]: whose the words were before it
    left_out     the left-out words as they were, where it took some of them
"""

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback import services as feedback
from devplans.feedback.models import Comment
from devplans.talkthrough.models import Alias, Step, Suggestion, TalkThrough
from devplans.talkthrough.owned import require_own

MOST_STEPS = 300
FIELDS = (
    "place", "start_ms", "end_ms", "sound_start_ms", "sound_end_ms", "unsure", "maybe_skills",
    "verdict", "happened", "do_instead", "said", "heard", "state", "with_voice",
)  # fmt: skip


@dataclass
class Undone:
    """Which step, the rows that are as before, and the ids of those that are gone."""

    what: str
    rows: list[Suggestion] = field(default_factory=list)
    gone: list[UUID] = field(default_factory=list)


class Record:
    """Collects how things are before a step changes them, and keeps it at its end."""

    def __init__(self, talk: TalkThrough, what: str, *, session: str = "") -> None:
        # Two tabs at once: the second waits, and sees what the first one did.
        self.talk = TalkThrough.objects.select_for_update(of=("self",)).get(pk=talk.pk)
        self.what, self.session = what, session
        self.before: dict[str, Any] = {
            "suggestions": [], "made": [], "comments": [], "aliases": [], "left_out": None,
        }  # fmt: skip

    def change(self, *suggestions: Suggestion) -> None:
        known = {one["id"] for one in self.before["suggestions"]}
        fresh = [one for one in suggestions if str(one.pk) not in known]
        self.before["suggestions"] += [_snapshot(one) for one in fresh]

    def made(self, suggestion: Suggestion) -> None:
        self.before["made"].append(str(suggestion.pk))

    def wrote(self, comment: Comment) -> None:
        self.before["comments"].append([str(comment.pk), comment.updated_at.isoformat()])

    def alias(self, heard: str, was: Alias | None) -> None:
        self.before["aliases"].append([heard, str(was.player_id) if was else None])

    def left_out(self) -> None:
        self.before["left_out"] = list(self.talk.left_out)

    def keep(self) -> None:
        """Write the step; edits of one session are one step."""
        last = self.talk.steps.first()
        if self.session and last is not None and last.session == self.session:
            known = {one["id"] for one in last.before["suggestions"]}
            for name in ("made", "comments", "aliases"):
                last.before[name] += self.before[name]
            last.before["suggestions"] += [
                one for one in self.before["suggestions"] if one["id"] not in known
            ]
            last.save(update_fields=["before", "updated_at"])
        else:
            number = (self.talk.steps.aggregate(last=Max("number"))["last"] or 0) + 1
            self.talk.steps.create(
                number=number, what=self.what, before=self.before, session=self.session
            )
            self.talk.steps.filter(number__lte=number - MOST_STEPS).delete()
        _close_or_open(self.talk)


def _close_or_open(talk: TalkThrough) -> None:
    """A talk is corrected to the end when nothing of it is open; it is not when something is."""
    mine = Suggestion.objects.of_talk(talk)
    is_done = mine.exists() and not mine.open().exists()
    if is_done == (talk.finished_at is not None):
        return
    talk.finished_at = timezone.now() if is_done else None
    talk.save(update_fields=["finished_at", "updated_at"])


def _snapshot(one: Suggestion) -> dict[str, Any]:
    """A suggestion as JSON, with all that a coach or a service may change."""
    return {
        "id": str(one.pk),
        **{name: deepcopy(getattr(one, name)) for name in FIELDS},
        "players": [str(pk) for pk in one.players.values_list("pk", flat=True)],
        "skill": str(one.skill_id) if one.skill_id else None,
        "comment": str(one.comment_id) if one.comment_id else None,
        "touched_at": one.touched_at.isoformat() if one.touched_at else None,
    }


def _restore(kept: dict[str, Any]) -> Suggestion | None:
    one = Suggestion.objects.filter(pk=kept["id"]).first()
    if one is None:
        return None
    for name in FIELDS:
        setattr(one, name, kept[name])
    touched = kept["touched_at"]
    one.touched_at = datetime.fromisoformat(touched) if touched else None
    one.skill_id = UUID(kept["skill"]) if kept["skill"] else None
    comment = kept["comment"]
    there = comment and Comment.objects.filter(pk=comment).exists()
    one.comment_id = UUID(comment) if there else None
    one.save()
    one.players.set(kept["players"])
    return one


@transaction.atomic
def undo(*, actor: Any, talk: TalkThrough) -> Undone:
    """Take back the last step. Raises PermissionDenied, and DomainError "undo.nothing",
    "undo.sent" or "undo.changed": a draft that went its own way is not thrown away from here."""
    require_own(actor=actor, talk=talk)
    talk = TalkThrough.objects.select_for_update(of=("self",)).get(pk=talk.pk)
    step = talk.steps.first()
    if step is None:
        raise DomainError("undo.nothing", _("There is nothing to undo."))
    undone = Undone(step.what)
    comments = list(_drafts_of(step))
    made = Suggestion.objects.filter(pk__in=step.before["made"], talk=talk)
    undone.gone = list(made.values_list("pk", flat=True))
    made.delete()
    for comment in comments:
        feedback.delete_draft(actor=actor, comment=comment)
    for kept in reversed(step.before["suggestions"]):
        row = _restore(kept)
        if row is not None:
            undone.rows.append(row)
    for heard, player_id in reversed(step.before["aliases"]):
        _alias_back(talk, heard, player_id, actor)
    if step.before["left_out"] is not None:
        talk.left_out = step.before["left_out"]
        talk.save(update_fields=["left_out", "updated_at"])
    step.delete()
    _close_or_open(talk)
    return undone


def _drafts_of(step: Step) -> Iterable[Comment]:
    written = dict(step.before["comments"])
    for comment in Comment.objects.filter(pk__in=written).select_related("film__squad__season"):
        if comment.sent_at is not None:
            message = _("This has been sent: take it back from the film's page instead.")
            raise DomainError("undo.sent", message)
        if comment.updated_at.isoformat() != written[str(comment.pk)]:
            message = _("The draft was changed since: delete it on the film's page instead.")
            raise DomainError("undo.changed", message)
        yield comment


def _alias_back(talk: TalkThrough, heard: str, player_id: str | None, actor: Any) -> None:
    rows = Alias.objects.of_squad(talk.film.squad)
    if player_id is None:
        rows.filter(heard=heard).delete()
    else:
        rows.update_or_create(
            squad=talk.film.squad, heard=heard, defaults={"player_id": player_id, "coach": actor}
        )
